// SPDX-License-Identifier: GPL-3.0-or-later
/* With the standard deviation known the two conditions are solved in closed form (ISO 3951-1,
 * background in A. Wald's and W. A. Wallis' work of 1947); unknown: n grows from there until the k
 * that keeps the consumer's risk also keeps the producer's. */
#include "qualify/plan.h"

#include <math.h>

#include "num/distribution.h"
#include "num/student.h"
#include "num/tolerance.h"

#define COUNT_MOST 1000

double plan_compute_acceptance(const struct plan *plan, double nonconforming)
{
    if (nonconforming <= 0 || nonconforming >= 1) {
        return nonconforming <= 0 ? 1 : 0;
    }
    if (plan->is_deviation_known) {
        const double z = -normal_compute_quantile(nonconforming);
        return normal_compute_share((z - plan->factor) * sqrt((double)plan->count));
    }
    return 1 - tolerance_compute_confidence(plan->count, 1 - nonconforming, plan->factor);
}

static enum status check(
    double good, double producer_risk, double bad, double consumer_risk, struct error *err)
{
    if (!(good > 0 && good < bad && bad < 0.5)) {
        return fail(err, STATUS_INPUT, "such as 1 % against 10 %",
            "no plan that tells %g %% nonconforming from %g %%", 100 * good, 100 * bad);
    }
    if (!(producer_risk > 0 && producer_risk < 0.5 && consumer_risk > 0 && consumer_risk < 0.5)) {
        return fail(err, STATUS_INPUT, "such as 5 % and 10 %",
            "risks of %g and %g are not between 0 and 0.5", producer_risk, consumer_risk);
    }
    return STATUS_OK;
}

static double get_known_count(
    double good, double producer_risk, double bad, double consumer_risk, double *factor)
{
    const double z_good = -normal_compute_quantile(good), z_bad = -normal_compute_quantile(bad);
    const double z_producer = -normal_compute_quantile(producer_risk);
    const double z_consumer = -normal_compute_quantile(consumer_risk);
    const double root = (z_producer + z_consumer) / (z_good - z_bad);
    const double count = fmax(2, ceil(root * root - 1e-9));
    *factor = z_bad + z_consumer / sqrt(count);
    return count;
}

enum status plan_compute(double good, double producer_risk, double bad, double consumer_risk,
    bool is_deviation_known, struct plan *plan, struct error *err)
{
    struct plan made = {.is_deviation_known = is_deviation_known};
    enum status status = check(good, producer_risk, bad, consumer_risk, err);
    if (status != STATUS_OK) {
        return status;
    }
    const double least = get_known_count(good, producer_risk, bad, consumer_risk, &made.factor);
    for (made.count = least <= COUNT_MOST ? (size_t)least : COUNT_MOST + 1;
         made.count <= COUNT_MOST; made.count++) {
        if (!is_deviation_known) {
            status = tolerance_compute_one_sided(
                made.count, 1 - bad, 1 - consumer_risk, &made.factor, err);
        }
        if (status != STATUS_OK) {
            return status;
        }
        const double acceptance = plan_compute_acceptance(&made, good);
        if (isnan(acceptance)) {
            return fail_memory(err);
        }
        if (acceptance >= 1 - producer_risk) {
            *plan = made;
            return STATUS_OK;
        }
    }
    return fail(err, STATUS_INPUT, "let the two shares lie further apart, or the risks be larger",
        "a plan that tells %g %% nonconforming from %g %% takes more than %d specimens", 100 * good,
        100 * bad, COUNT_MOST);
}
