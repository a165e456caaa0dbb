// SPDX-License-Identifier: GPL-3.0-or-later
#include "qualify/comparison.h"

#include <math.h>

#include "num/distribution.h"
#include "num/statistics.h"

const char *equivalence_get_name(enum equivalence equivalence)
{
    static const char *const names[] = {
        [EQUIVALENT] = "equivalent", [DIFFERENT] = "different", [CANNOT_TELL] = "cannot tell"};
    return names[equivalence];
}

static void set_test(struct comparison *made, double confidence)
{
    const double reach = made->u * student_compute_quantile(0.5 * (1 + confidence), made->freedom);
    const double inner = made->u * student_compute_quantile(confidence, made->freedom);
    made->lower = made->difference - reach;
    made->upper = made->difference + reach;
    made->inner_lower = made->difference - inner;
    made->inner_upper = made->difference + inner;
    made->significance =
        2 * student_compute_share(-fabs(made->difference) / made->u, made->freedom);
    made->significance_equivalence = NAN;
    made->verdict = made->lower > 0 || made->upper < 0 ? DIFFERENT : CANNOT_TELL;
}

static void set_equivalence(struct comparison *made, double confidence)
{
    const double above =
        student_compute_share((made->difference - made->margin) / made->u, made->freedom);
    const double below =
        student_compute_share((-made->difference - made->margin) / made->u, made->freedom);
    const double reach = made->u * student_compute_quantile(confidence, made->freedom);
    made->significance_equivalence = fmax(above, below);
    if (made->significance_equivalence <= 1 - confidence) {
        made->verdict = EQUIVALENT;
    } else if (fabs(made->difference) - reach > made->margin) {
        made->verdict = DIFFERENT;
    } else {
        made->verdict = CANNOT_TELL;
    }
}

/* Normal populations: G. W. Snedecor, W. G. Cochran, "Statistical Methods" (1989), 6.12. */
static void set_spread(
    struct comparison *made, const struct summary *first, const struct summary *second)
{
    const double ratio = second->deviation / first->deviation;
    const double above = (double)second->count - 1, below = (double)first->count - 1;
    made->spread_ratio = first->deviation > 0 ? ratio : NAN;
    made->significance_spread = NAN;
    if (first->deviation > 0 && second->deviation > 0) {
        made->significance_spread =
            2 * fmin(fisher_compute_share(ratio * ratio, above, below),
                    fisher_compute_share_above(ratio * ratio, above, below));
    }
}

static enum status check(
    size_t first, size_t second, double margin, double confidence, struct error *err)
{
    if (first < 2 || second < 2) {
        return fail(err, STATUS_INPUT, "measure two specimens of each at least",
            "no comparison of %zu with %zu specimens", first, second);
    }
    if (!(margin >= 0) || !isfinite(margin)) {
        return fail(err, STATUS_INPUT, "it is the largest difference that does not matter",
            "a margin of %g is not 0 or more", margin);
    }
    if (!(confidence > 0.5 && confidence < 1)) {
        return fail(err, STATUS_INPUT, "a confidence such as 0.95",
            "the confidence of %g is not between 0.5 and 1", confidence);
    }
    return STATUS_OK;
}

enum status comparison_compute(struct lot_sample first, struct lot_sample second, double common_u,
    double margin, double confidence, struct comparison *comparison, struct error *err)
{
    enum status status = check(first.count, second.count, margin, confidence, err);
    if (status != STATUS_OK) {
        return status;
    }
    const struct summary a = summary_compute(first.values, first.count);
    const struct summary b = summary_compute(second.values, second.count);
    const double va = a.deviation * a.deviation / (double)first.count;
    const double vb = b.deviation * b.deviation / (double)second.count;
    const double vc = common_u * common_u;
    if (!(va + vb > 0)) {
        return fail(err, STATUS_INPUT, "all values of a lot are the same: are they copies?",
            "no comparison of lots without scatter");
    }
    struct comparison made = {.difference = b.mean - a.mean,
        .u = sqrt(va + vb + vc),
        .freedom = (va + vb + vc) * (va + vb + vc) /
                   (va * va / ((double)first.count - 1) + vb * vb / ((double)second.count - 1)),
        .margin = margin};
    set_test(&made, confidence);
    set_spread(&made, &a, &b);
    if (margin > 0) {
        set_equivalence(&made, confidence);
    }
    *comparison = made;
    return STATUS_OK;
}
