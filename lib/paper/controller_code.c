/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The controller's table as a C header. All values fit 16 bit without a sign: a pressure in mbar
 * (or in steps of 10 mbar where it is high), a speed in tenths of rpm, an angle in hundredths of a
 * degree, a count. No array
 * jumps where a turn ends, so that neighbours can be interpolated: where an angle would be negative
 * a turn is added in every row, and counts go on past a turn.
 */
#include "paper/controller_parts.h"

#include "base/constants.h"
#include "base/format.h"
#include "paper/show.h"
#include "paper/table_write.h"
#include "paper/text.h"

#include <math.h>
#include <string.h>

enum {
  PREFIX_MOST = 31,  /* letters of a prefix */
  VALUE_MOST = 65535 /* of 16 bit */
};
static const double hundredth = LB_PI / 18000; /* [rad] */
static const double millibar = 100;            /* [Pa] */
static const double coarse = 10;               /* [mbar] the unit of high pressures */
static const double tenth = LB_RPM / 10;       /* [rad/s] of 1 rpm */

/* A header in the making. */
struct code {
  struct lb_text out;
  const struct lb_controller *controller;
  const char *prefix;
  char upper[PREFIX_MOST + 1]; /* of macros */
};

#define CAPITALS "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
#define SMALL_LETTERS "abcdefghijklmnopqrstuvwxyz"

bool lb_controller_prefix_fits(const char *prefix) {
  size_t length = strlen(prefix);
  return length > 0 && length <= PREFIX_MOST && strchr(CAPITALS SMALL_LETTERS, prefix[0]) &&
         strspn(prefix, CAPITALS SMALL_LETTERS "0123456789_") == length;
}

/* The capital of a letter, in every locale; what is none stays. */
static char upper_case(char letter) {
  const char *small = strchr(SMALL_LETTERS, letter);
  return small ? CAPITALS[small - SMALL_LETTERS] : letter;
}

/* Bytes of a mark that turns the direction of reading, so that people would not see what a compiler
 * sees; 0 for anything else. */
static size_t direction_mark(const char *at) {
  static const char *const marks[] = {"\xD8\x9C",     "\xE2\x80\x8E", "\xE2\x80\x8F",
                                      "\xE2\x80\xAA", "\xE2\x80\xAB", "\xE2\x80\xAC",
                                      "\xE2\x80\xAD", "\xE2\x80\xAE", "\xE2\x81\xA6",
                                      "\xE2\x81\xA7", "\xE2\x81\xA8", "\xE2\x81\xA9"}; /* [UTF-8] */
  for (size_t i = 0; i < sizeof marks / sizeof marks[0]; i++)
    if (strncmp(at, marks[i], strlen(marks[i])) == 0)
      return strlen(marks[i]);
  return 0;
}

/* Add a text to a comment so that it neither ends nor begins one, nor is read as a trigraph, nor
 * looks as if it did. */
static void add_words(struct lb_text *out, const char *words) {
  char before = '\0';
  for (const char *at = words; *at; at++) {
    size_t mark = direction_mark(at);
    if (mark > 0) {
      at += mark - 1;
      continue;
    }
    unsigned char letter = (unsigned char)*at;
    bool parts = (before == '*' && *at == '/') || (before == '/' && *at == '*') ||
                 (before == '?' && *at == '?');
    lb_text_add(out, "%s%c", parts ? " " : "", letter < ' ' ? ' ' : *at);
    before = *at;
  }
}

/* How the arrays are to be used. */
static void add_use(struct code *code) {
  const struct lb_controller *controller = code->controller;
  const struct lb_schedule *schedule = controller->schedule;
  struct lb_text *out = &code->out;
  bool all = true;
  for (size_t i = 0; i < schedule->rows; i++)
    all = all && lb_controller_speed(controller, &schedule->row[i]) <=
                     lb_controller_greatest_speed(controller, &schedule->row[i]);
  lb_text_add(out,
              " *\n * Interpolate linearly between rows in the %s, whose values are exact: "
              "the\n"
              " * cut-off is then within %s%s deg, 0.005 deg of it from the rounding to "
              "hundredths. Angles\n"
              " * count from the end's own dead centre in the direction of rotation.\n",
              controller->speeds ? "speed" : "supply pressure", controller->speeds ? "about " : "",
              lb_show_number((schedule->error + hundredth / 2) / hundredth / 100, 3).text);
  if (!all && controller->speeds)
    lb_text_add(out,
                " * In rows whose greatest speed is below their own the valves cannot follow: do "
                "not\n * run so fast.\n");
  else if (!all)
    lb_text_add(
        out,
        " * In rows whose greatest speed is below %s_RPM the valves cannot follow: do not use\n"
        " * them at that speed.\n",
        code->upper);
  lb_text_add(out, " */\n");
}

static void add_heading(struct code *code) {
  const struct lb_controller *controller = code->controller;
  const struct lb_machine *machine = controller->machine;
  struct lb_text *out = &code->out;
  lb_text_add(out, "/* Inlet cut-off over %s, for a controller.\n *\n * Machine: ",
              controller->speeds ? "speed" : "supply pressure");
  add_words(out, machine->name);
  lb_text_add(out, "\n * Made by lastbar %s from ", lb_table_write_version());
  add_words(out, controller->file);
  lb_text_add(out, ", CRC-32 %08lx\n", (unsigned long)controller->checksum);
  if (*controller->changes) {
    lb_text_add(out, " * Changed there: ");
    add_words(out, controller->changes);
    lb_text_add(out, "\n");
  }
  if (controller->speeds)
    lb_text_add(out, " * At speed, with %g bar absolute", machine->supply_pressure / LB_BAR);
  else
    lb_text_add(out, " * Slow cycle, exponent of expansion %g", machine->expansion_exponent);
  lb_text_add(out, "; rule: %s", lb_cutoff_rule_name(controller->rule));
  if (controller->rule == LB_ATMOSPHERIC)
    lb_text_add(out, ", margin %g bar", controller->margin / LB_BAR);
  lb_text_add(out, "\n");
  add_use(code);
}

/* An array with a value for each row, before rounding; "CAP end: WORDS [UNIT]" says what it is, and
 * "PREFIX_cap_NAME" is its name. */
struct array {
  const char *end; /* "cap" or "rod", or NULL */
  const char *name, *suffix;
  const char *words, *unit;
  double shift; /* added to each value */
  double value[LB_SCHEDULE_ROWS];
};

/* Fails (LB_NO_ANSWER) when a value does not fit. */
static enum lb_status add_array(struct code *code, const struct array *array,
                                struct lb_error *error) {
  const size_t in_line = 10;
  size_t rows = code->controller->schedule->rows;
  lb_text_add(&code->out, "\n/* %s%s%s [%s] */\nstatic const uint16_t %s_%s%s%s%s[%s_ROWS] = {",
              array->end ? array->end : "", array->end ? " end: " : "", array->words, array->unit,
              code->prefix, array->end ? array->end : "", array->end ? "_" : "", array->name,
              array->suffix, code->upper);
  for (size_t i = 0; i < rows; i++) {
    double rounded = round(array->value[i] + array->shift);
    if (!(rounded >= 0 && rounded <= VALUE_MOST))
      return lb_error_set(
          error, LB_NO_ANSWER,
          "the %s of %.0f %s does not fit the 16 bit of a C header, which end at %d; "
          "--csv has room for it",
          array->words, rounded, array->unit, VALUE_MOST);
    lb_text_add(&code->out, "%s%.0fu%s", i % in_line == 0 ? "\n  " : " ", rounded,
                i + 1 < rows ? "," : "");
  }
  lb_text_add(&code->out, "\n};\n");
  return LB_OK;
}

/* Whether pressures up to the last of a table need the coarse unit. */
static bool is_high(const struct lb_schedule *schedule) {
  return schedule->row[schedule->rows - 1].supply_pressure / millibar > VALUE_MOST;
}

enum lb_status lb_controller_schedule(struct lb_schedule *schedule,
                                      const struct lb_machine *machine,
                                      const struct lb_schedule_question *question,
                                      struct lb_error *error) {
  struct lb_schedule_question q = *question;
  q.unit = millibar;
  enum lb_status status = lb_schedule_find(schedule, machine, &q, error);
  if (status != LB_OK || !is_high(schedule))
    return status;
  q.unit = coarse * millibar;
  return lb_schedule_find(schedule, machine, &q, error);
}

static enum lb_status add_pressures(struct code *code, struct lb_error *error) {
  const struct lb_schedule *schedule = code->controller->schedule;
  bool high = is_high(schedule);
  double unit = high ? coarse * millibar : millibar;
  struct array array = {.name = "supply",
                        .suffix = high ? "_10mbar_absolute" : "_mbar_absolute",
                        .words = "supply pressure, rising",
                        .unit = high ? "10 mbar absolute" : "mbar absolute"};
  for (size_t i = 0; i < schedule->rows; i++)
    array.value[i] = schedule->row[i].supply_pressure / unit;
  return add_array(code, &array, error);
}

/* What the rows lie on in a table by speed. */
static enum lb_status add_row_speeds(struct code *code, struct lb_error *error) {
  const struct lb_schedule *schedule = code->controller->schedule;
  const double nearly = 1e-6; /* [1] of a tenth */
  struct array array = {
      .name = "speed", .suffix = "_rpm_10", .words = "speed, rising", .unit = "tenths of rpm"};
  for (size_t i = 0; i < schedule->rows; i++) {
    array.value[i] = schedule->row[i].speed / tenth;
    if (!(fabs(remainder(array.value[i], 1)) < nearly))
      return lb_error_set(error, LB_NO_ANSWER,
                          "the row at %.6g rpm is no whole tenth of 1 rpm, in which a C header has "
                          "its speeds; a range that begins and ends on tenths would do, or --csv",
                          schedule->row[i].speed / LB_RPM);
  }
  return add_array(code, &array, error);
}

/* Angles of an end in hundredths of a degree, a turn added to all of them where one is negative. */
static enum lb_status add_angles(struct code *code, enum lb_end end, const char *name,
                                 const char *words, const double *angle, struct lb_error *error) {
  const double whole_turn = 36000; /* [hundredths of a degree] */
  struct array array = {.end = lb_controller_end_key[end],
                        .name = name,
                        .suffix = "_deg_100",
                        .words = words,
                        .unit = "deg/100 after its dead centre"};
  for (size_t i = 0; i < code->controller->schedule->rows; i++) {
    array.value[i] = angle[i] / hundredth;
    if (round(array.value[i]) < 0)
      array.shift = whole_turn;
  }
  if (array.shift > 0)
    array.unit = "deg/100 after its dead centre, 36000 added";
  return add_array(code, &array, error);
}

/* The encoder's counts at angles of an end, each that next to the row before, if need be past a
 * turn or, when that would go below 0, with a turn added to all; nothing without an encoder. */
static enum lb_status add_counts(struct code *code, enum lb_end end, const char *name,
                                 const char *words, const double *angle, struct lb_error *error) {
  const struct lb_machine *machine = code->controller->machine;
  struct array array = {.end = lb_controller_end_key[end],
                        .name = name,
                        .suffix = "_count",
                        .words = words,
                        .unit = "encoder count"};
  if (!machine->encoder.given)
    return LB_OK;
  double counts = (double)lb_controller_counts(&machine->encoder), before = 0;
  bool past = false;
  char unit[64];
  for (size_t i = 0; i < code->controller->schedule->rows; i++) {
    double crank = lb_timing_crank_angle(machine, end, angle[i]);
    double count = (double)lb_controller_count(machine, crank).count;
    double turns = i > 0 ? round((before - count) / counts) : 0;
    array.value[i] = before = count + turns * counts;
    array.shift = before < 0 ? counts : array.shift;
    past = past || turns != 0;
  }
  lb_format(unit, sizeof unit, "encoder count, modulo %s_COUNTS", code->upper);
  if (past)
    array.unit = unit;
  return add_array(code, &array, error);
}

/* Angles and, with an encoder, their counts. */
static enum lb_status add_both(struct code *code, enum lb_end end, const char *name,
                               const char *words, const double *angle, struct lb_error *error) {
  enum lb_status status = add_angles(code, end, name, words, angle, error);
  return status == LB_OK ? add_counts(code, end, name, words, angle, error) : status;
}

static enum lb_status add_end(struct code *code, enum lb_end end, struct lb_error *error) {
  const struct lb_controller *controller = code->controller;
  const struct lb_schedule *schedule = controller->schedule;
  double angle[LB_SCHEDULE_ROWS];
  for (size_t i = 0; i < schedule->rows; i++)
    angle[i] = schedule->row[i].cutoff[end];
  enum lb_status status = add_both(code, end, "cutoff", "cut-off", angle, error);
  for (int k = 0; lb_controller_shows_switching(controller) && k < LB_SWITCHINGS; k++) {
    const struct lb_controller_switching *s = &lb_controller_switching[k];
    for (size_t i = 0; i < schedule->rows; i++)
      angle[i] = lb_controller_switch(controller, &schedule->row[i], end, s->event);
    if (status == LB_OK)
      status = add_both(code, end, s->name, s->words, angle, error);
  }
  return status;
}

/* The greatest speed of each row, where the valves have delays. */
static enum lb_status add_speeds(struct code *code, struct lb_error *error) {
  const struct lb_controller *controller = code->controller;
  struct array array = {.name = "greatest",
                        .suffix = "_rpm",
                        .words = "greatest speed at which the valves can follow",
                        .unit = "rpm"};
  if (!lb_controller_shows_switching(controller))
    return LB_OK;
  for (size_t i = 0; i < controller->schedule->rows; i++) {
    double greatest = lb_controller_greatest_speed(controller, &controller->schedule->row[i]);
    array.value[i] = fmin(floor(greatest / LB_RPM), VALUE_MOST);
  }
  return add_array(code, &array, error);
}

/* The speed that switching is for; whole where it is. */
static void add_speed(struct code *code) {
  const double nearly = 1e-9; /* [rpm] that a change of unit leaves */
  double rpm = code->controller->speed / LB_RPM, whole = round(rpm);
  bool is_whole = fabs(rpm - whole) < nearly;
  lb_text_add(&code->out, "#define %s_RPM ", code->upper);
  lb_text_add(&code->out, is_whole ? "%.0fu" : "%.9g", is_whole ? whole : rpm);
  lb_text_add(&code->out, " /* for which the valves are switched ahead */\n");
}

/* Constants before the arrays. */
static void add_constants(struct code *code) {
  const struct lb_controller *controller = code->controller;
  struct lb_text *out = &code->out;
  lb_text_add(out, "#ifndef %s_TABLE_H\n#define %s_TABLE_H\n\n#include <stdint.h>\n\n", code->upper,
              code->upper);
  lb_text_add(out, "#define %s_ROWS %zuu\n", code->upper, controller->schedule->rows);
  if (controller->machine->encoder.given)
    lb_text_add(out,
                "#define %s_COUNTS %ldu /* of the encoder in a turn, 0 at %s deg of the crank */\n",
                code->upper, lb_controller_counts(&controller->machine->encoder),
                lb_controller_offset(&controller->machine->encoder).text);
  if (lb_controller_shows_switching(controller) && !controller->speeds)
    add_speed(code);
}

enum lb_status lb_controller_code(char **text, const struct lb_controller *controller,
                                  const char *prefix, struct lb_error *error) {
  struct code code = {.controller = controller, .prefix = prefix};
  for (size_t i = 0; prefix[i] && i < PREFIX_MOST; i++)
    code.upper[i] = upper_case(prefix[i]);
  add_heading(&code);
  add_constants(&code);
  enum lb_status status =
      controller->speeds ? add_row_speeds(&code, error) : add_pressures(&code, error);
  for (int end = 0; end < LB_ENDS && status == LB_OK; end++)
    if (controller->machine->works[end])
      status = add_end(&code, (enum lb_end)end, error);
  if (status == LB_OK)
    status = add_speeds(&code, error);
  lb_text_add(&code.out, "\n#endif\n");
  if (status == LB_OK)
    status = lb_text_take(text, &code.out, error);
  lb_text_free(&code.out);
  return status;
}
