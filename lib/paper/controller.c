/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The figures of a row, and the table as JSON and CSV.
 */
#include "paper/controller.h"

#include "base/constants.h"
#include "paper/answer_cutoff_page.h"
#include "paper/controller_parts.h"
#include "paper/record.h"
#include "paper/table_write.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double turn = 2 * LB_PI;
static const double microsecond = 1e-6; /* [s] */

const double lb_controller_change = 0.1;
const char *const lb_controller_end_key[LB_ENDS] = {[LB_CAP_END] = "cap", [LB_ROD_END] = "rod"};
const struct lb_controller_switching lb_controller_switching[LB_SWITCHINGS] = {
    {LB_VARIED_INLET_OPENS, "inlet on", "inlet_on", "inlet_on_deg", "inlet_on_crank_deg",
     "inlet_on_count", "inlet_on_late_deg"},
    {LB_VARIED_CUTOFF, "inlet off", "inlet_off", "inlet_off_deg", "inlet_off_crank_deg",
     "inlet_off_count", "inlet_off_late_deg"},
    {LB_VARIED_RELEASE, "exhaust on", "exhaust_on", "exhaust_on_deg", "exhaust_on_crank_deg",
     "exhaust_on_count", "exhaust_on_late_deg"},
    {LB_VARIED_EXHAUST_CLOSES, "exhaust off", "exhaust_off", "exhaust_off_deg",
     "exhaust_off_crank_deg", "exhaust_off_count", "exhaust_off_late_deg"},
};

static double degrees(double radians) {
  return radians * 180 / LB_PI;
}

long lb_controller_counts(const struct lb_encoder *encoder) {
  const long edges = 4; /* of two channels, for each count of one */
  return encoder->counts_per_turn * (encoder->quadrupled ? edges : 1);
}

struct lb_shown lb_controller_offset(const struct lb_encoder *encoder) {
  const double tenths = 10, same = 1e-3; /* [1] in a degree; of a tenth */
  double offset = degrees(encoder->offset);
  bool whole = fabs(remainder(offset * tenths, 1)) < same;
  return lb_show_number(offset, whole ? 1 : 3);
}

struct lb_controller_count lb_controller_count(const struct lb_machine *machine,
                                               double crank_angle) {
  const struct lb_encoder *encoder = &machine->encoder;
  double counts = (double)lb_controller_counts(encoder);
  double exact = (crank_angle - encoder->offset) / turn * counts;
  double nearest = round(exact);
  double count = fmod(encoder->counts_down ? -nearest : nearest, counts);
  return (struct lb_controller_count){.count = (long)(count < 0 ? count + counts : count),
                                      .rounding = (nearest - exact) / counts * turn};
}

void lb_controller_speed_rows(struct lb_schedule *schedule, const struct lb_speed_schedule *speeds,
                              const struct lb_machine *machine) {
  *schedule = (struct lb_schedule){.rows = speeds->rows, .error = speeds->error};
  memcpy(schedule->below, speeds->below, sizeof schedule->below);
  memcpy(schedule->above, speeds->above, sizeof schedule->above);
  for (size_t i = 0; i < speeds->rows; i++) {
    const struct lb_speed_row *row = &speeds->row[i];
    schedule->row[i] =
        (struct lb_schedule_row){.supply_pressure = machine->supply_pressure, .speed = row->speed};
    memcpy(schedule->row[i].cutoff, row->cutoff, sizeof row->cutoff);
  }
}

double lb_controller_speed(const struct lb_controller *controller,
                           const struct lb_schedule_row *row) {
  return row->speed > 0 ? row->speed : controller->speed;
}

bool lb_controller_shows_switching(const struct lb_controller *controller) {
  for (int valve = 0; valve < LB_VALVES; valve++) {
    const struct lb_valve_delay *delay = &controller->machine->valve_delay[valve];
    if ((controller->speed > 0 || controller->speeds) && (delay->on > 0 || delay->off > 0))
      return true;
  }
  return false;
}

/* At speed a cut-off is one of the valve, whatever the rule. */
double lb_controller_lead(const struct lb_controller *controller, const struct lb_schedule_row *row,
                          enum lb_end end, enum lb_varied event) {
  const struct lb_machine *machine = controller->machine;
  bool found =
      controller->speeds || controller->rule != LB_AS_TIMED || !machine->timing[end].cutoff_given;
  return lb_timing_lead(machine, end, event, found, lb_controller_speed(controller, row));
}

double lb_controller_switch(const struct lb_controller *controller,
                            const struct lb_schedule_row *row, enum lb_end end,
                            enum lb_varied event) {
  return lb_timing_event(controller->machine, end, event, row->cutoff[end]) -
         lb_controller_lead(controller, row, end, event);
}

/* The greatest speed at which a valve follows that is open over a window [rad] in the file: it has
 * begun to open before it is switched off, and is shut before it is switched on again. With lead(1)
 * the angle per speed by which an event is switched ahead, and delay less lead the one by which it
 * comes late instead, that is
 *   window >= speed * (off lead + on late),  turn - window >= speed * (on lead + off late). */
static double follows_to(const struct lb_controller *controller, enum lb_end end,
                         enum lb_varied opens, enum lb_varied shuts, double window) {
  const struct lb_schedule_row unit_speed = {.speed = 1};
  const struct lb_valve_delay *delay =
      &controller->machine
           ->valve_delay[shuts == LB_VARIED_CUTOFF ? LB_INLET_VALVE : LB_EXHAUST_VALVE];
  double on_lead = lb_controller_lead(controller, &unit_speed, end, opens);
  double off_lead = lb_controller_lead(controller, &unit_speed, end, shuts);
  double open = off_lead + delay->on - on_lead, shut = on_lead + delay->off - off_lead;
  return fmin(open > 0 ? window / open : (double)INFINITY,
              shut > 0 ? (turn - window) / shut : (double)INFINITY);
}

double lb_controller_greatest_speed(const struct lb_controller *controller,
                                    const struct lb_schedule_row *row) {
  const struct lb_machine *machine = controller->machine;
  double least = (double)INFINITY;
  for (int end = 0; end < LB_ENDS; end++) {
    const struct lb_timing *timing = &machine->timing[end];
    if (!machine->works[end])
      continue;
    double inlet = row->cutoff[end] - timing->inlet_opens;
    double exhaust = timing->exhaust_closes - timing->release;
    least = fmin(least, follows_to(controller, (enum lb_end)end, LB_VARIED_INLET_OPENS,
                                   LB_VARIED_CUTOFF, inlet));
    least = fmin(least, follows_to(controller, (enum lb_end)end, LB_VARIED_RELEASE,
                                   LB_VARIED_EXHAUST_CLOSES, exhaust));
  }
  return least;
}

/* By speed: where the greatest speed, which changes with the cut-off, comes down to the speed. */
static double greatest_by_speed(const struct lb_controller *controller) {
  const struct lb_schedule *s = controller->schedule;
  double greatest = lb_controller_greatest_speed(controller, &s->row[0]);
  for (size_t i = 0; i + 1 < s->rows; i++) {
    double speed = s->row[i].speed, next = s->row[i + 1].speed;
    double left = lb_controller_greatest_speed(controller, &s->row[i]) - speed;
    double next_left = lb_controller_greatest_speed(controller, &s->row[i + 1]) - next;
    if (next_left >= 0)
      greatest = next + next_left;
    else if (left >= 0)
      greatest = speed + (next - speed) * left / (left - next_left);
  }
  return greatest;
}

double lb_controller_greatest_of_all(const struct lb_controller *controller) {
  double greatest = 0;
  if (controller->speeds)
    return greatest_by_speed(controller);
  for (size_t i = 0; i < controller->schedule->rows; i++)
    greatest =
        fmax(greatest, lb_controller_greatest_speed(controller, &controller->schedule->row[i]));
  return greatest;
}

enum lb_status lb_controller_test(const struct lb_controller *controller, struct lb_error *error) {
  double greatest = lb_controller_greatest_of_all(controller);
  double slowest = lb_controller_speed(controller, &controller->schedule->row[0]);
  if (slowest <= greatest)
    return LB_OK;
  return lb_error_set(error, LB_NO_ANSWER,
                      "at %.5g rpm the valves cannot follow their signals in any row; %.1f rpm or "
                      "less would do, or valves with shorter delays",
                      slowest / LB_RPM, floor(greatest / LB_RPM * 10) / 10);
}

/* An angle after an end's own dead centre as a count of the encoder, or null without one. */
static void add_count(struct lb_record *record, const struct lb_machine *machine, enum lb_end end,
                      double angle, const char *count_key, const char *rounding_key) {
  if (!machine->encoder.given) {
    lb_record_null(record, count_key);
    if (rounding_key)
      lb_record_null(record, rounding_key);
    return;
  }
  struct lb_controller_count count =
      lb_controller_count(machine, lb_timing_crank_angle(machine, end, angle));
  lb_record_whole(record, count_key, (int)count.count);
  if (rounding_key)
    lb_record_number(record, rounding_key, degrees(count.rounding));
}

/* The figures of an end in a row. */
static void add_end(struct lb_record *record, const struct lb_controller *controller,
                    const struct lb_schedule_row *row, enum lb_end end) {
  const struct lb_machine *machine = controller->machine;
  double cutoff = row->cutoff[end], speed = lb_controller_speed(controller, row);
  bool timed = speed > 0, switching = lb_controller_shows_switching(controller);
  lb_record_number(record, "cutoff_deg", degrees(cutoff));
  lb_record_number(record, "cutoff_crank_deg",
                   degrees(lb_timing_crank_angle(machine, end, cutoff)));
  lb_record_number(record, "cutoff_stroke_fraction",
                   lb_timing_stroke_fraction(machine, end, cutoff));
  lb_record_number(record, "cutoff_turn_fraction", cutoff / turn);
  add_count(record, machine, end, cutoff, "cutoff_count", "cutoff_rounding_deg");
  lb_record_number_if(record, timed, "cutoff_us", timed ? cutoff / speed / microsecond : 0);
  for (int i = 0; i < LB_SWITCHINGS; i++) {
    const struct lb_controller_switching *s = &lb_controller_switching[i];
    double angle = lb_controller_switch(controller, row, end, s->event);
    lb_record_number_if(record, switching, s->degrees_key, degrees(angle));
    lb_record_number_if(record, switching, s->crank_key,
                        degrees(lb_timing_crank_angle(machine, end, angle)));
    if (switching)
      add_count(record, machine, end, angle, s->count_key, NULL);
    else
      lb_record_null(record, s->count_key);
    lb_record_number_if(
        record, switching, s->late_key,
        degrees(lb_controller_change * lb_controller_lead(controller, row, end, s->event)));
  }
}

/* What the machine does at a speed. */
static void add_running(struct lb_record *record, const struct lb_running *running) {
  const struct lb_revolution *r = &running->revolution;
  lb_record_number(record, "work_per_rev_j", r->work);
  lb_record_number(record, "air_per_rev_kg", r->air);
  lb_record_number_if(record, r->air > 0, "work_per_kg_j", r->work_per_kg);
  lb_record_number(record, "mean_torque_nm", r->mean_torque);
  lb_record_number(record, "power_w", running->power);
}

/* The figures of a row that both ends share. */
static void add_row(struct lb_record *record, const struct lb_controller *controller,
                    const struct lb_schedule_row *row) {
  double greatest = lb_controller_greatest_speed(controller, row);
  if (controller->speeds) {
    lb_record_number(record, "speed_rpm", row->speed / LB_RPM);
    add_running(record, &controller->speeds->row[row - controller->schedule->row].running);
  } else {
    lb_record_number(record, "supply_pressure_pa", row->supply_pressure);
    lb_record_truth(record, "own_supply", row->own);
  }
  lb_record_number_if(record, isfinite(greatest), "greatest_speed_rpm", greatest / LB_RPM);
  lb_record_truth(record, "can_follow", lb_controller_speed(controller, row) <= greatest);
}

/* The range that was asked for, and the speed of a table by pressure. */
static void add_range(struct lb_record *record, const struct lb_controller *controller) {
  const struct lb_schedule *schedule = controller->schedule;
  if (controller->speeds) {
    double greatest = lb_controller_greatest_of_all(controller);
    lb_record_number_if(record, isfinite(greatest), "greatest_speed_rpm", greatest / LB_RPM);
    lb_record_number(record, "asked_from_rpm", controller->speeds->asked_from / LB_RPM);
    lb_record_number(record, "asked_to_rpm", controller->speeds->asked_to / LB_RPM);
  } else {
    lb_record_number(record, "speed_rpm", controller->speed / LB_RPM);
    lb_record_number(record, "asked_from_pa", schedule->asked_from);
    lb_record_number(record, "asked_to_pa", schedule->asked_to);
  }
}

/* What holds for the whole table. */
static void add_table(struct lb_record *record, const struct lb_controller *controller) {
  const struct lb_schedule *schedule = controller->schedule;
  lb_record_text(record, "rule", lb_cutoff_rule_name(controller->rule));
  lb_record_number(record, "margin_pa", controller->margin);
  lb_record_text(record, "by", controller->speeds ? "speed" : "pressure");
  add_range(record, controller);
  lb_record_number(record, "interpolation_error_deg", degrees(schedule->error));
  lb_record_text(record, "why_not_below", *schedule->below ? schedule->below : NULL);
  lb_record_text(record, "why_not_above", *schedule->above ? schedule->above : NULL);
  if (controller->machine->encoder.given)
    lb_record_whole(record, "counts_per_turn",
                    (int)lb_controller_counts(&controller->machine->encoder));
  else
    lb_record_null(record, "counts_per_turn");
}

enum lb_status lb_controller_json(char **json, const struct lb_controller *controller,
                                  struct lb_error *error) {
  struct lb_record record = {0};
  lb_page_record_head(&record, controller->machine, "table", !controller->speeds);
  add_table(&record, controller);
  lb_record_open_list(&record, "rows");
  for (size_t i = 0; i < controller->schedule->rows; i++) {
    const struct lb_schedule_row *row = &controller->schedule->row[i];
    lb_record_open(&record, NULL);
    add_row(&record, controller, row);
    lb_record_open(&record, "ends");
    for (int end = 0; end < LB_ENDS; end++) {
      if (!controller->machine->works[end]) {
        lb_record_null(&record, lb_controller_end_key[end]);
        continue;
      }
      lb_record_open(&record, lb_controller_end_key[end]);
      add_end(&record, controller, row, (enum lb_end)end);
      lb_record_close(&record);
    }
    lb_record_close(&record);
    lb_record_close(&record);
  }
  lb_record_close(&record);
  lb_record_warnings(&record, controller->warning, controller->warnings);
  enum lb_status status = lb_table_write_json(json, &record, error);
  lb_record_free(&record);
  return status;
}

enum lb_status lb_controller_csv(char **csv, const struct lb_controller *controller,
                                 struct lb_error *error) {
  const struct lb_schedule *schedule = controller->schedule;
  struct lb_record *record = calloc(schedule->rows * LB_ENDS, sizeof *record);
  if (!record)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for %zu rows", schedule->rows);
  size_t rows = 0;
  for (size_t i = 0; i < schedule->rows; i++)
    for (int end = 0; end < LB_ENDS; end++) {
      if (!controller->machine->works[end])
        continue;
      add_row(&record[rows], controller, &schedule->row[i]);
      lb_record_text(&record[rows], "end", lb_controller_end_key[end]);
      add_end(&record[rows], controller, &schedule->row[i], (enum lb_end)end);
      rows++;
    }
  enum lb_status status = lb_table_write_csv(csv, record, rows, error);
  for (size_t i = 0; i < rows; i++)
    lb_record_free(&record[i]);
  free(record);
  return status;
}
