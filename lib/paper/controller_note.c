/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The controller's table as a note. A table is a list of columns, each with its heading, when it is
 * shown, and its cell in a row.
 */
#include "paper/controller_parts.h"

#include "base/constants.h"
#include "base/format.h"
#include "paper/answer_cutoff_page.h"
#include "paper/show.h"
#include "paper/table.h"
#include "paper/text.h"

#include <math.h>

static const double microsecond = 1e-6; /* [s] */

static double degrees(double radians) {
  return radians * 180 / LB_PI;
}

/* A table about one end, and the place in it. */
struct place {
  int decimals; /* of pressures */
  const struct lb_controller *controller;
  enum lb_end end;
  const struct lb_schedule_row *row;
  enum lb_varied event; /* of the column */
};

struct column {
  const char *above, *below; /* the two lines of its heading; NULL below: the unit of pressure */
  bool (*shown)(const struct lb_controller *controller); /* NULL: always */
  enum lb_varied event;
  struct lb_shown (*cell)(const struct place *place);
};

static struct lb_style style_of(const struct lb_controller *controller) {
  return (struct lb_style){.inch = controller->inch,
                           .ambient = controller->machine->ambient_pressure};
}

static bool has_encoder(const struct lb_controller *controller) {
  return controller->machine->encoder.given;
}

static bool has_speed(const struct lb_controller *controller) {
  return controller->speed > 0 || controller->speeds;
}

static bool by_pressure(const struct lb_controller *controller) {
  return !controller->speeds;
}

static bool by_speed(const struct lb_controller *controller) {
  return controller->speeds != NULL;
}

/* The decimals, no fewer than given, that show the gauge pressure of a row in full, for
 * interpolation is steep in it where rows lie close: five at most. */
static int row_decimals(const struct lb_controller *controller, const struct lb_schedule_row *row,
                        int decimals) {
  const struct lb_style style = style_of(controller);
  const int most = 5;
  const double same = 1e-3; /* of the last digit */
  double value = lb_show_value(&style, LB_SHOW_GAUGE, row->supply_pressure);
  while (decimals < most && fabs(remainder(value * pow(10, decimals), 1)) > same)
    decimals++;
  return decimals;
}

/* The decimals of the pressures in all rows, two or three at least. The machine's own supply, which
 * is seldom a round figure among them, has decimals of its own. */
static int decimals_of(const struct lb_controller *controller) {
  int decimals = controller->inch ? 2 : 3;
  for (size_t i = 0; i < controller->schedule->rows; i++)
    if (!controller->schedule->row[i].own)
      decimals = row_decimals(controller, &controller->schedule->row[i], decimals);
  return decimals;
}

/* With a mark at the machine's own supply. */
static struct lb_shown gauge_cell(const struct place *p) {
  struct lb_style style = style_of(p->controller);
  double gauge = lb_show_value(&style, LB_SHOW_GAUGE, p->row->supply_pressure);
  struct lb_shown shown;
  lb_format(shown.text, sizeof shown.text, "%s%.60s", p->row->own ? "> " : "",
            lb_show_number(gauge, p->decimals).text);
  return shown;
}

static struct lb_shown absolute_cell(const struct place *p) {
  struct lb_style style = style_of(p->controller);
  return lb_show_number(lb_show_value(&style, LB_SHOW_PRESSURE, p->row->supply_pressure),
                        p->decimals);
}

/* The speed of a row in full, for it is seldom other than round. */
static struct lb_shown rpm_cell(const struct place *p) {
  const int most = 3;
  const double same = 1e-3; /* of the last digit */
  double rpm = p->row->speed / LB_RPM;
  int decimals = 0;
  while (decimals < most && fabs(remainder(rpm * pow(10, decimals), 1)) > same)
    decimals++;
  return lb_show_number(rpm, decimals);
}

static struct lb_shown cutoff_cell(const struct place *p) {
  return lb_show_number(degrees(p->row->cutoff[p->end]), 2);
}

static struct lb_shown percent(double share, int decimals) {
  struct lb_shown shown;
  lb_format(shown.text, sizeof shown.text, "%s %%", lb_show_number(100 * share, decimals).text);
  return shown;
}

static struct lb_shown stroke_cell(const struct place *p) {
  return percent(lb_timing_stroke_fraction(p->controller->machine, p->end, p->row->cutoff[p->end]),
                 1);
}

static struct lb_shown turn_cell(const struct place *p) {
  return percent(p->row->cutoff[p->end] / (2 * LB_PI), 2);
}

static struct lb_controller_count count_of(const struct place *p, double angle) {
  const struct lb_machine *machine = p->controller->machine;
  return lb_controller_count(machine, lb_timing_crank_angle(machine, p->end, angle));
}

static struct lb_shown count_cell(const struct place *p) {
  return lb_show_number((double)count_of(p, p->row->cutoff[p->end]).count, 0);
}

static struct lb_shown rounding_cell(const struct place *p) {
  return lb_show_number(degrees(count_of(p, p->row->cutoff[p->end]).rounding), 3);
}

static struct lb_shown time_cell(const struct place *p) {
  double speed = lb_controller_speed(p->controller, p->row);
  return lb_show_number(p->row->cutoff[p->end] / speed / microsecond, 0);
}

static double switch_of(const struct place *p) {
  return lb_controller_switch(p->controller, p->row, p->end, p->event);
}

static struct lb_shown switch_cell(const struct place *p) {
  return lb_show_number(degrees(switch_of(p)), 2);
}

static struct lb_shown switch_count_cell(const struct place *p) {
  return lb_show_number((double)count_of(p, switch_of(p)).count, 0);
}

static struct lb_shown speed_cell(const struct place *p) {
  double greatest = lb_controller_greatest_speed(p->controller, p->row) / LB_RPM;
  struct lb_shown shown = lb_show_number(floor(greatest), 0);
  if (lb_controller_speed(p->controller, p->row) > greatest * LB_RPM)
    lb_format(shown.text, sizeof shown.text, "%.0f: no", floor(greatest));
  return shown;
}

static const struct column cutoff_columns[] = {
    {"", "rpm", by_speed, LB_VARIED_CUTOFF, rpm_cell},
    {"supply,", NULL, by_pressure, LB_VARIED_CUTOFF, gauge_cell},
    {"", "absolute", by_pressure, LB_VARIED_CUTOFF, absolute_cell},
    {"cut-off,", "deg", NULL, LB_VARIED_CUTOFF, cutoff_cell},
    {"of", "stroke", NULL, LB_VARIED_CUTOFF, stroke_cell},
    {"of a", "turn", NULL, LB_VARIED_CUTOFF, turn_cell},
    {"encoder", "count", has_encoder, LB_VARIED_CUTOFF, count_cell},
    {"rounded", "by deg", has_encoder, LB_VARIED_CUTOFF, rounding_cell},
    {"us after", "its dc", has_speed, LB_VARIED_CUTOFF, time_cell},
};
static const struct column switch_columns[] = {
    {"", "rpm", by_speed, LB_VARIED_CUTOFF, rpm_cell},
    {"supply,", NULL, by_pressure, LB_VARIED_CUTOFF, gauge_cell},
    {"inlet", "on", NULL, LB_VARIED_INLET_OPENS, switch_cell},
    {"", "count", has_encoder, LB_VARIED_INLET_OPENS, switch_count_cell},
    {"inlet", "off", NULL, LB_VARIED_CUTOFF, switch_cell},
    {"", "count", has_encoder, LB_VARIED_CUTOFF, switch_count_cell},
    {"exhaust", "on", NULL, LB_VARIED_RELEASE, switch_cell},
    {"", "count", has_encoder, LB_VARIED_RELEASE, switch_count_cell},
    {"exhaust", "off", NULL, LB_VARIED_EXHAUST_CLOSES, switch_cell},
    {"", "count", has_encoder, LB_VARIED_EXHAUST_CLOSES, switch_count_cell},
    {"up to", "rpm", NULL, LB_VARIED_CUTOFF, speed_cell},
};

/* One line of headings of the columns that are shown. */
static void add_headings(struct lb_table *table, const struct lb_controller *controller,
                         const struct column *column, size_t columns, bool second) {
  struct lb_style style = style_of(controller);
  for (size_t i = 0; i < columns; i++) {
    const char *below = column[i].below ? column[i].below : lb_show_unit(&style, LB_SHOW_GAUGE);
    if (!column[i].shown || column[i].shown(controller))
      lb_table_cell(table, "%s", second ? below : column[i].above);
  }
}

/* The cells of one row. The own supply has the decimals that it needs. */
static void add_row(struct lb_table *table, struct place place, const struct column *column,
                    size_t columns) {
  if (place.row->own)
    place.decimals = row_decimals(place.controller, place.row, place.decimals);
  for (size_t i = 0; i < columns; i++) {
    place.event = column[i].event;
    if (!column[i].shown || column[i].shown(place.controller))
      lb_table_cell(table, "%s", column[i].cell(&place).text);
  }
}

/* A table about one end. */
static void add_table(struct lb_text *out, const struct lb_controller *controller, enum lb_end end,
                      const struct column *column, size_t columns) {
  char letters[LB_TABLE_COLUMNS + 1];
  size_t count = 0;
  struct place place = {.decimals = decimals_of(controller), .controller = controller, .end = end};
  for (size_t i = 0; i < columns; i++)
    if (!column[i].shown || column[i].shown(controller))
      letters[count++] = '>';
  letters[count] = '\0';
  struct lb_table *table = lb_table_new(letters);
  add_headings(table, controller, column, columns, false);
  add_headings(table, controller, column, columns, true);
  for (size_t i = 0; i < controller->schedule->rows; i++) {
    place.row = &controller->schedule->row[i];
    add_row(table, place, column, columns);
  }
  lb_table_render(out, table, 0, 2);
  lb_table_free(table);
}

/* Why the range ends where it does, if that is not what was asked. */
static void add_limit(struct lb_cutoff_page *page, const struct lb_controller *controller,
                      const char *where, const char *why) {
  struct lb_style style = style_of(controller);
  struct lb_text words = {0};
  if (!*why)
    return;
  lb_text_add(&words, "%s there is no cut-off: %s.", where, lb_show_sentence(&style, why).text);
  lb_page_paragraph(page, "", &words);
}

static void add_encoder(struct lb_cutoff_page *page, const struct lb_controller *controller) {
  const struct lb_encoder *encoder = &controller->machine->encoder;
  struct lb_text words = {0};
  if (!encoder->given)
    return;
  lb_text_add(
      &words,
      "Counts: %ld a turn, 0 at %s deg of the crank after the cap-end dead centre, %s in the "
      "direction of rotation; each is the count nearest to its angle, and \"rounded by\" says "
      "how much later that lies. They begin anew after a turn: interpolate degrees, not counts.",
      lb_controller_counts(encoder), lb_controller_offset(encoder).text,
      encoder->counts_down ? "falling" : "rising");
  lb_page_paragraph(page, "", &words);
}

/* Up to which speed the valves follow, in a table by speed. */
static void add_greatest(struct lb_text *words, const struct lb_controller *controller) {
  double greatest = lb_controller_greatest_of_all(controller);
  double last = controller->schedule->row[controller->schedule->rows - 1].speed;
  if (!controller->speeds)
    return;
  if (greatest >= last)
    lb_text_add(words, " The valves can follow in every row.");
  else
    lb_text_add(words, " The valves can follow up to %.0f rpm.", floor(greatest / LB_RPM));
}

/* How the switch angles come about, and what a speed known late does to them: by speed, in the last
 * row, where it is most. */
static void add_delays(struct lb_cutoff_page *page, const struct lb_controller *controller) {
  const struct lb_schedule *schedule = controller->schedule;
  const struct lb_schedule_row *last = &schedule->row[schedule->rows - 1];
  struct lb_text words = {0};
  char speed[32];
  lb_format(speed, sizeof speed, "%.5g rpm", lb_controller_speed(controller, last) / LB_RPM);
  lb_text_add(
      &words,
      "Switched ahead of the event by what the valve is late at %s (6 x rpm x delay, in "
      "degrees). \"up to\" is the speed at which a valve just follows: it has begun to open "
      "before it is switched off, and is shut before it is switched on again.",
      controller->speeds ? "that speed" : speed);
  add_greatest(&words, controller);
  lb_text_add(&words, " A controller that knows the speed one revolution late is off by");
  enum lb_end end = controller->machine->works[LB_CAP_END] ? LB_CAP_END : LB_ROD_END;
  for (int i = 0; i < LB_SWITCHINGS; i++) {
    const struct lb_controller_switching *s = &lb_controller_switching[i];
    double late = lb_controller_change * lb_controller_lead(controller, last, end, s->event);
    lb_text_add(&words, "%s %s deg (%s)", i ? "," : "", lb_show_number(degrees(late), 2).text,
                s->words);
  }
  lb_text_add(&words, "%s%s for every 10 %% that it changes in a revolution.",
              controller->speeds ? " at " : "", controller->speeds ? speed : "");
  lb_page_paragraph(page, "", &words);
}

/* Where the machine's own supply is. */
static const char *own_words(const struct lb_controller *controller) {
  if (controller->speeds)
    return "";
  for (size_t i = 0; i < controller->schedule->rows; i++)
    if (controller->schedule->row[i].own)
      return " The row marked > is the machine's own supply.";
  return " The machine's own supply is not among them: it has no cut-off by this rule, or lies "
         "outside the range.";
}

/* What holds for all rows. */
static void add_legend(struct lb_cutoff_page *page, const struct lb_controller *controller) {
  const double rounding = 0.005; /* [deg] of angles with two decimals */
  const struct lb_schedule *schedule = controller->schedule;
  struct lb_text words = {0};
  lb_text_add(&words,
              "Between two rows interpolate linearly in the %s: the error is %s %s deg, rounding "
              "included. Angles count from the end's own dead centre (dc) in the direction of "
              "rotation.%s",
              controller->speeds ? "speed" : "gauge pressure",
              controller->speeds ? "about" : "at most",
              lb_show_number(degrees(schedule->error) + rounding, 3).text, own_words(controller));
  lb_text_add(page->out, "\n");
  lb_page_paragraph(page, "", &words);
  add_limit(page, controller, "Below this range", schedule->below);
  add_limit(page, controller, "Above this range", schedule->above);
  add_encoder(page, controller);
}

/* What the machine does at each speed. */
static void add_machine(struct lb_text *out, const struct lb_controller *controller) {
  static const struct {
    const char *heading;
    enum lb_measure measure;
  } columns[] = {{"torque", LB_SHOW_TORQUE},
                 {"work a turn", LB_SHOW_WORK},
                 {"air a turn", LB_SHOW_AIR},
                 {"from the air", LB_SHOW_YIELD}};
  const int count = sizeof columns / sizeof columns[0];
  const struct lb_style style = style_of(controller);
  struct place place = {.controller = controller};
  struct lb_table *table = lb_table_new(">>>>>");
  lb_table_cell(table, "%s", "");
  for (int i = 0; i < count; i++)
    lb_table_cell(table, "%s", columns[i].heading);
  lb_table_cell(table, "rpm");
  for (int i = 0; i < count; i++)
    lb_table_cell(table, "%s", lb_show_unit(&style, columns[i].measure));
  for (size_t k = 0; k < controller->schedule->rows; k++) {
    const struct lb_revolution *r = &controller->speeds->row[k].running.revolution;
    const double value[] = {r->mean_torque, r->work, r->air,
                            r->air > 0 ? r->work_per_kg : (double)NAN};
    place.row = &controller->schedule->row[k];
    lb_table_cell(table, "%s", rpm_cell(&place).text);
    for (int i = 0; i < count; i++)
      lb_table_cell(table, "%s",
                    lb_show_number(lb_show_value(&style, columns[i].measure, value[i]),
                                   columns[i].measure == LB_SHOW_AIR ? 3 : 2)
                        .text);
  }
  lb_text_add(out, "\nWork after friction, and air\n");
  lb_table_render(out, table, 0, 2);
  lb_table_free(table);
}

static const char *const title[LB_ENDS] = {[LB_CAP_END] = "Cap end", [LB_ROD_END] = "Rod end"};

enum lb_status lb_controller_text(char **text, const struct lb_controller *controller,
                                  struct lb_error *error) {
  const struct lb_cutoff_paper paper = {.machine = controller->machine,
                                        .margin = controller->margin,
                                        .speed = controller->speeds ? (double)INFINITY : 0,
                                        .rule = controller->rule,
                                        .warning = controller->warning,
                                        .warnings = controller->warnings};
  struct lb_text out = {0};
  struct lb_cutoff_page page = lb_page_begin(&paper, controller->inch, true, &out);
  lb_page_head(&page);
  lb_text_add(&out, "\nCut-off over %s: %s", controller->speeds ? "speed" : "supply pressure",
              lb_page_choice(&page, controller->rule));
  if (controller->rule == LB_ATMOSPHERIC && controller->margin > 0)
    lb_text_add(&out, ", %s", lb_show(&page.style, LB_SHOW_PRESSURE, controller->margin).text);
  lb_text_add(&out, "\n");
  for (int end = 0; end < LB_ENDS; end++) {
    if (!controller->machine->works[end])
      continue;
    lb_text_add(&out, "\n%s\n", title[end]);
    add_table(&out, controller, (enum lb_end)end, cutoff_columns,
              sizeof cutoff_columns / sizeof cutoff_columns[0]);
  }
  add_legend(&page, controller);
  for (int end = 0; lb_controller_shows_switching(controller) && end < LB_ENDS; end++) {
    if (!controller->machine->works[end])
      continue;
    lb_text_add(&out, "\n%s: when to switch, deg after its dead centre\n", title[end]);
    add_table(&out, controller, (enum lb_end)end, switch_columns,
              sizeof switch_columns / sizeof switch_columns[0]);
  }
  if (lb_controller_shows_switching(controller)) {
    lb_text_add(&out, "\n");
    add_delays(&page, controller);
  }
  if (controller->speeds)
    add_machine(&out, controller);
  lb_page_end_note(&page);
  return lb_text_take(text, &out, error);
}
