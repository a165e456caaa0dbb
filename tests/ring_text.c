// SPDX-License-Identifier: GPL-3.0-or-later
#include "ring_text.h"

#include "base/text.h"
#include "suites.h"

static const struct ring_text plain = {
    .source = "model:\n"
              "  tanh: {saturation: 1.30 T, shift: 19.2 kA/m, width: 19.8 kA/m}\n"
              "drive: {frequency: 20 Hz, field_peak: 60 kA/m, harmonics: 99}\n",
    .recording = "recording: {format: wav, encoding: double, sample_rate: 48 kHz, cycles: 40.3, "
                 "phase: 35 deg}\n",
    .rig = "rig:\n"
           "  inputs:\n"
           "    excitation: {channel: 1, full_scale: 1.550 V, shunt: 50.00 mohm}\n"
           "    pickup: {channel: 2, full_scale: 1.550 V}\n"
           "  timing: {pickup_delay: 2.1 us}\n"
           "  coupling: {corner: 3.40 Hz}\n"
           "  winding: {primary_turns: 400, secondary_turns: 100, secondary_area: 30 mm2}\n",
    .specimen = "specimen:\n"
                "  ring: {outer_diameter: 40 mm, inner_diameter: 32 mm, height: 6 mm, "
                "density: 8100 kg/m3}\n",
    .faults = "",
};

static enum status read_text(const struct ring_text *text, struct ring *ring, struct error *err)
{
    struct text yaml = {0};
    text_add(&yaml, text->source ? text->source : plain.source);
    text_add(&yaml, text->recording ? text->recording : plain.recording);
    text_add(&yaml, text->rig ? text->rig : plain.rig);
    text_add(&yaml, text->specimen ? text->specimen : plain.specimen);
    text_add(&yaml, text->faults ? text->faults : plain.faults);
    enum status status = ring_read_bytes("ring.yaml", yaml.bytes, yaml.length, ring, err);
    text_clear(&yaml);
    return status;
}

void ring_text_read(const struct ring_text *text, struct ring *ring)
{
    struct error err = {0};
    ck_assert_msg(!read_text(text, ring, &err), "%s", err.message);
}

const char *ring_text_get_error(const struct ring_text *text)
{
    static struct error err;
    struct ring ring = {0};
    err = (struct error){0};
    enum status status = read_text(text, &ring, &err);
    ck_assert(status == STATUS_OK || status == STATUS_INPUT);
    ring_clear(&ring);
    return err.message;
}
