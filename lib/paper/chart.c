/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The table of sheets.
 */
#include "paper/chart.h"

#include "paper/sheet_cam.h"
#include "paper/sheet_curves.h"
#include "paper/sheet_disc.h"
#include "paper/sheet_indicator.h"
#include "paper/sheet_rundown.h"
#include "paper/sheet_timing.h"
#include "paper/sheet_torque.h"

static bool always(const struct lb_machine *machine) {
  (void)machine;
  return true;
}

static bool has_disc(const struct lb_machine *machine) {
  return machine->switch_disc.given;
}

static bool has_cam(const struct lb_machine *machine) {
  return machine->cam.given;
}

/* Whether the cycle at speed can be calculated. */
static bool has_speed(const struct lb_machine *machine) {
  bool known = true;
  for (int valve = 0; valve < LB_VALVES; valve++)
    known = known && machine->path[valve].flow.conductance > 0;
  for (int end = 0; end < LB_ENDS; end++)
    known = known && (!machine->works[end] || machine->dead_volume[end] > 0);
  return known;
}

static bool has_load(const struct lb_machine *machine) {
  const struct lb_load *load = &machine->load;
  return machine->load_torque > 0 || load->torque_per_speed > 0 ||
         load->torque_per_speed_squared > 0 || load->mass > 0;
}

static bool has_rundown(const struct lb_machine *machine) {
  return machine->store.given && has_load(machine);
}

static const struct {
  const char *name, *lacks; /* lacks: what a machine file without it does not have; or NULL */
  bool (*applies)(const struct lb_machine *machine);
  enum lb_status (*draw)(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                         struct lb_error *error);
} charts[LB_CHARTS] = {
    [LB_CHART_TIMING] = {"timing", NULL, always, lb_sheet_timing},
    [LB_CHART_INDICATOR] = {"indicator", NULL, always, lb_sheet_indicator},
    [LB_CHART_TORQUE] = {"torque", NULL, always, lb_sheet_torque},
    [LB_CHART_CURVES] = {"curves", "conductance of the valves, or no dead volume", has_speed,
                         lb_sheet_curves},
    [LB_CHART_RUNDOWN] = {"rundown",
                          "section [store] or no [load]; lastbar help 'store' says what it needs",
                          has_rundown, lb_sheet_rundown},
    [LB_CHART_DISC] = {"disc",
                       "section [switch disc]; lastbar help 'switch disc' says what it needs",
                       has_disc, lb_sheet_disc},
    [LB_CHART_CAM] = {"cam", "section [cam]; lastbar help 'cam' says what it needs", has_cam,
                      lb_sheet_cam},
};

const char *lb_chart_name(enum lb_chart chart) {
  return charts[chart].name;
}

bool lb_chart_applies(enum lb_chart chart, const struct lb_machine *machine) {
  return charts[chart].applies(machine);
}

enum lb_status lb_chart_draw(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                             enum lb_chart chart, struct lb_error *error) {
  if (!lb_chart_applies(chart, sheet->paper->machine))
    return lb_error_set(error, LB_NO_ANSWER, "no %s to draw: the machine file has no %s",
                        charts[chart].name, charts[chart].lacks);
  enum lb_status status = charts[chart].draw(drawing, sheet, error);
  return status == LB_OK ? lb_drawing_status(drawing, error) : status;
}
