/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a builder should be warned of in an answer about cut-offs, in words.
 *
 * Flags of the chambers count only from a size that matters on the bench (a lead of 3 degrees
 * always pushes a trace of air back). Ice is expected where the coldest air in a cylinder falls
 * below 0 degC and below the frost point of its own moisture at back pressure:
 *
 *   vapour e at the exhaust = w p_e, with the share w of vapour from the supply's dew point,
 *   e_s(T_d)/p_s, or from the humidity of the surroundings, phi e_s(T_a)/p_a, of which the supply
 *   can hold no more than e_s(T_s)/p_s.
 */
#ifndef LASTBAR_DECIDE_REMARKS_H
#define LASTBAR_DECIDE_REMARKS_H

#include "decide/cutoff.h"
#include "machine/check.h"

#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

enum {
  LB_REMARKS_MOST = 16 /* of one answer */
};

/* Remarks on an answer; codes "over_compression", "push_back", "in_flow", "negative_loop", "ice",
 * "near_liquid", "heat_from_walls" and "earliest_cutoff". A supply that is not above back pressure
 * has none: what would be said follows from that.
 * remark  out: remark[LB_REMARKS_MOST]
 * Returns their number. */
size_t lb_remarks_cutoff(struct lb_warning *remark, const struct lb_machine *machine,
                         const struct lb_cutoff_answer *answer);

/* Air can turn liquid below 132.6 K (Lemmon et al., 2000); so near to it no gas is ideal [K]. */
#define LB_NEAR_LIQUID 133

/* Temperature [K] below which the moisture of the exhaust freezes out, at back pressure; NaN when
 * the machine says nothing about moisture, 0 for dry air. */
double lb_remarks_frost_point(const struct lb_machine *machine);

/* A temperature [K] in both units, "-80 degC (-112 degF)", written into text[size], which is
 * returned. */
const char *lb_remarks_degrees(char *text, size_t size, double kelvin);

#ifdef __cplusplus
}
#endif

#endif
