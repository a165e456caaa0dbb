// SPDX-License-Identifier: GPL-3.0-or-later
/* Eddy currents and excess loss as terms of known energy: at B = Bm cos x they add to the field
 * what leads B by a quarter of a cycle. The field of even eddy currents is just that; of the excess
 * field, which goes with the root of dB/dt, it is the fundamental, the only part that takes energy.
 */
#include "virtual/ring_losses.h"

#include <math.h>

#include "series/classical.h"
#include "series/steel.h"

enum status ring_losses_compute(
    const struct ring *ring, struct ring_terms *terms, struct error *err)
{
    const double peak = ring->drive.flux_density_peak.value;
    struct series_steel steel;
    struct ring_terms made = {0};
    if (ring->losses.is_present)
        made.excess_J_per_m3_per_sqrt_Hz = ring->losses.excess.value * pow(peak, 1.5);
    if (ring->losses.has_eddy_currents) {
        enum status status = steel_set(&steel, &ring->specimen, err);
        if (status)
            return status;
        made.classical_J_s_per_m3 =
            classical_compute(steel.resistivity.value, steel.thickness.value,
                steel.breadth.is_present ? steel.breadth.value : INFINITY, peak, CLASSICAL_SINE);
        steel_clear(&steel);
    }
    *terms = made;
    return STATUS_OK;
}
