/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The controller's table as a C header. All values fit 16 bit without a sign: a pressure in mbar
 * (or in steps of 10 mbar where it is high), an angle in hundredths of a degree, to which a turn is
 * added in every row where one of them would be negative, so that neighbours can be interpolated.
 */
#include "paper/controller_parts.h"

#include "base/constants.h"
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

/* Add a text to a comment so that it neither ends nor begins one, nor is read as a trigraph. */
static void add_words(struct lb_text *out, const char *words) {
  char before = '\0';
  for (const char *at = words; *at; at++) {
    unsigned char letter = (unsigned char)*at;
    bool parts = (before == '*' && *at == '/') || (before == '/' && *at == '*') ||
                 (before == '?' && *at == '?');
    lb_text_add(out, "%s%c", parts ? " " : "", letter < ' ' ? ' ' : *at);
    before = *at;
  }
}

static void add_heading(struct code *code) {
  const struct lb_controller *controller = code->controller;
  const struct lb_machine *machine = controller->machine;
  struct lb_text *out = &code->out;
  lb_text_add(out, "/* Inlet cut-off over supply pressure, for a controller.\n *\n * Machine: ");
  add_words(out, machine->name);
  lb_text_add(out, "\n * Made by lastbar %s from ", lb_table_write_version());
  add_words(out, controller->file);
  lb_text_add(out, ", CRC-32 %08lx\n", (unsigned long)controller->checksum);
  if (*controller->changes) {
    lb_text_add(out, " * Changed there: ");
    add_words(out, controller->changes);
    lb_text_add(out, "\n");
  }
  lb_text_add(out, " * Slow cycle, exponent of expansion %g; rule: %s", machine->expansion_exponent,
              lb_cutoff_rule_name(controller->rule));
  if (controller->rule == LB_ATMOSPHERIC)
    lb_text_add(out, ", margin %g bar", controller->margin / LB_BAR);
  lb_text_add(out, "\n");
  lb_text_add(
      out,
      " *\n * Interpolate linearly between rows in the supply pressure: the cut-off is then\n"
      " * within %s deg, 0.005 deg of it from the rounding to hundredths. Angles count from the\n"
      " * end's own dead centre in the direction of rotation.\n */\n",
      lb_show_number((controller->schedule->error + hundredth / 2) / hundredth / 100, 3).text);
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

static enum lb_status add_pressures(struct code *code, struct lb_error *error) {
  const struct lb_schedule *schedule = code->controller->schedule;
  bool high = schedule->row[schedule->rows - 1].supply_pressure / millibar > VALUE_MOST;
  double unit = high ? 10 * millibar : millibar;
  struct array array = {.name = "supply",
                        .suffix = high ? "_10mbar_absolute" : "_mbar_absolute",
                        .words = "supply pressure, rising",
                        .unit = high ? "10 mbar absolute" : "mbar absolute"};
  for (size_t i = 0; i < schedule->rows; i++)
    array.value[i] = schedule->row[i].supply_pressure / unit;
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

/* The encoder's counts at angles of an end; nothing without an encoder. */
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
  for (size_t i = 0; i < code->controller->schedule->rows; i++) {
    double crank = lb_timing_crank_angle(machine, end, angle[i]);
    array.value[i] = (double)lb_controller_count(machine, crank).count;
  }
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
    array.value[i] = fmin(floor(greatest / lb_controller_rpm), VALUE_MOST);
  }
  return add_array(code, &array, error);
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
                lb_show_number(controller->machine->encoder.offset / hundredth / 100, 1).text);
  if (lb_controller_shows_switching(controller))
    lb_text_add(out, "#define %s_RPM %.0fu /* for which the switch angles are */\n", code->upper,
                controller->speed / lb_controller_rpm);
}

enum lb_status lb_controller_code(char **text, const struct lb_controller *controller,
                                  const char *prefix, struct lb_error *error) {
  struct code code = {.controller = controller, .prefix = prefix};
  for (size_t i = 0; prefix[i] && i < PREFIX_MOST; i++)
    code.upper[i] = upper_case(prefix[i]);
  add_heading(&code);
  add_constants(&code);
  enum lb_status status = add_pressures(&code, error);
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
