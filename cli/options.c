/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Reading the options of a command from its table.
 */
#include "options.h"

#include "command.h"
#include "message.h"

#include "base/constants.h"
#include "base/units.h"
#include "paper/controller.h"
#include "paper/drawing_cairo.h"
#include "paper/text.h"

#include <getopt.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum {
  ROWS_MOST = 32,    /* options of one command */
  FIRST_ROW = 0x100, /* what getopt_long returns for the first row; beyond every
                        character */
  PAGES_MOST = 9999,
  LETTERS_SIZE = 2 * ROWS_MOST + 2 /* ":" and two bytes for each letter */
};

static const double disc_most = 100;             /* [m] wider than any flywheel */
static const double speed_most = 10000 * LB_RPM; /* [rad/s] faster than any such crank */
static const double measured_least = 80,
                    measured_most = 120; /* [mm] beyond is no printer's error */

const char *const option_laws[] = {"adiabatic", "isothermal", NULL};
const char *const option_rules[] = {"as-timed", "atmospheric", "economy", NULL};
const char *const option_units[] = {"metric", "inch", NULL};
const char *const option_by[] = {"pressure", "speed", NULL};
const char *const option_sheets[] = {"timing",  "indicator", "torque", "curves",
                                     "rundown", "disc",      "cam",    NULL};
const char *const option_papers[] = {"A4", "A3", "letter", NULL};

/* Which of the words a value is, or -1 after saying which there are. */
static int index_of(const struct options *options, const char *option, const char *const *words,
                    const char *value) {
  struct lb_text list = {0};
  for (int i = 0; words[i]; i++) {
    if (strcmp(words[i], value) == 0) {
      lb_text_free(&list);
      return i;
    }
    lb_text_add(&list, "%s%s", i ? ", " : "", words[i]);
  }
  message_usage(options->command, "--%s: '%s' is not one of %s", option, value,
                list.bytes ? list.bytes : "");
  lb_text_free(&list);
  return -1;
}

bool keep_set(struct options *options, const char *value) {
  if (options->sets == SETS_MOST) {
    message_usage(options->command, "more than %d times --set; put the values into the file",
                  SETS_MOST);
    return false;
  }
  options->set[options->sets++] = value;
  return true;
}

/* The library reads the law when it reads the file. */
bool keep_expansion(struct options *options, const char *value) {
  options->expansion = value;
  return true;
}

bool keep_rule(struct options *options, const char *value) {
  static const enum lb_rule rules[] = {LB_AS_TIMED, LB_ATMOSPHERIC, LB_ECONOMY}; /* as the words */
  int index = index_of(options, "rule", option_rules, value);
  if (index < 0)
    return false;
  options->rule = rules[index];
  options->rule_given = true;
  return true;
}

bool keep_margin(struct options *options, const char *value) {
  struct lb_error error;
  if (lb_units_read(&options->margin, value, LB_PRESSURE_DIFFERENCE, 0, &error) != LB_OK) {
    message_usage(options->command, "--margin: %s", error.text);
    return false;
  }
  if (options->margin < 0) {
    message_usage(options->command,
                  "--margin: '%s' is negative; release below back pressure costs work and air, so "
                  "the least is 0 bar",
                  value);
    return false;
  }
  options->margin_text = value;
  return true;
}

bool keep_disc(struct options *options, const char *value) {
  struct lb_error error;
  if (lb_units_read(&options->disc, value, LB_LENGTH, 0, &error) != LB_OK) {
    message_usage(options->command, "--disc: %s", error.text);
    return false;
  }
  if (!(options->disc > 0 && options->disc <= disc_most)) {
    message_usage(options->command,
                  "--disc: '%s' is no diameter of a disc; write one up to 100 m, such as '120 mm'",
                  value);
    return false;
  }
  return true;
}

bool keep_sketch(struct options *options, const char *value) {
  (void)value;
  options->sketch = true;
  return true;
}

bool keep_units(struct options *options, const char *value) {
  int index = index_of(options, "units", option_units, value);
  options->inch = index == 1;
  return index >= 0;
}

bool keep_json(struct options *options, const char *value) {
  (void)value;
  options->json = true;
  return true;
}

bool keep_csv(struct options *options, const char *value) {
  (void)value;
  options->csv = true;
  return true;
}

bool keep_help(struct options *options, const char *value) {
  (void)value;
  options->help = true;
  return true;
}

bool keep_output(struct options *options, const char *value) {
  options->output = value;
  return true;
}

/* One or several, parted by commas. */
bool keep_sheet(struct options *options, const char *value) {
  options->sheet_given = true;
  for (;;) {
    char word[32];
    size_t length = strcspn(value, ",");
    snprintf(word, sizeof word, "%.*s", (int)length, value);
    int index = index_of(options, "sheet", option_sheets, word);
    if (index < 0)
      return false;
    options->sheet[index] = true;
    if (value[length] == '\0')
      return true;
    value += length + 1;
  }
}

/* Whether a printer may have made this of a bar of 100 mm. */
static bool in_reach(double measured) {
  return measured >= measured_least && measured <= measured_most;
}

/* A number without a unit, or with this one. */
static bool read_number(double *number, const char *text, const char *unit) {
  const char *rest;
  return lb_units_split(number, &rest, text, NULL) == LB_OK &&
         (*rest == '\0' || strcmp(rest, unit) == 0);
}

bool keep_page(struct options *options, const char *value) {
  double number;
  bool whole = read_number(&number, value, "") && number == floor(number);
  if (!whole || !(number >= 1 && number <= PAGES_MOST)) {
    message_usage(options->command, "--page: '%s' is no number of a page; write 1 or more", value);
    return false;
  }
  options->page = (int)number;
  return true;
}

bool keep_paper(struct options *options, const char *value) {
  int index = index_of(options, "paper", option_papers, value);
  options->paper = (enum lb_paper_size)(index > 0 ? index : 0);
  return index >= 0;
}

bool keep_dpi(struct options *options, const char *value) {
  if (!read_number(&options->dpi, value, "dpi") ||
      !(options->dpi >= LB_DPI_LEAST && options->dpi <= LB_DPI_MOST)) {
    message_usage(options->command, "--dpi: '%s' is no resolution; write %d to %d dots per inch",
                  value, LB_DPI_LEAST, LB_DPI_MOST);
    return false;
  }
  return true;
}

bool keep_print_correction(struct options *options, const char *value) {
  char across[64];
  const char *comma = strchr(value, ',');
  bool one_comma = comma && !strchr(comma + 1, ',') && (size_t)(comma - value) < sizeof across;
  double *measured = options->measured;
  if (one_comma)
    snprintf(across, sizeof across, "%.*s", (int)(comma - value), value);
  if (one_comma && read_number(&measured[0], across, "mm") &&
      read_number(&measured[1], comma + 1, "mm") && in_reach(measured[0]) && in_reach(measured[1]))
    return true;
  message_usage(options->command,
                "--print-correction: '%s' is not what two bars of 100 mm can measure; write both "
                "lengths in mm, across and up the page, such as 97.2,97.5",
                value);
  return false;
}

bool options_read_speed(double *speed, const char *option, const char *value,
                        const struct options *options) {
  struct lb_error error;
  if (lb_units_read(speed, value, LB_ROTATIONAL_SPEED, 0, &error) != LB_OK) {
    message_usage(options->command, "--%s: %s", option, error.text);
    return false;
  }
  if (!(*speed > 0 && *speed <= speed_most)) {
    message_usage(options->command,
                  "--%s: '%s' is no speed of a crank; write one up to 10000 rpm, such as "
                  "'120 rpm'",
                  option, value);
    return false;
  }
  return true;
}

bool keep_speed(struct options *options, const char *value) {
  return options_read_speed(&options->speed, "speed", value, options);
}

bool keep_by(struct options *options, const char *value) {
  int index = index_of(options, "by", option_by, value);
  options->by_speed = index == 1;
  return index >= 0;
}

/* The pressures are read when the surroundings are known. */
bool keep_from(struct options *options, const char *value) {
  options->from = value;
  return true;
}

bool keep_to(struct options *options, const char *value) {
  options->to = value;
  return true;
}

/* Read when the surroundings are known, too. */
bool keep_pressure(struct options *options, const char *value) {
  if (options->pressures == LB_CURVES_MOST) {
    message_usage(options->command, "--pressure: no more than %d supply pressures at once",
                  LB_CURVES_MOST);
    return false;
  }
  options->pressure[options->pressures++] = value;
  return true;
}

bool keep_points(struct options *options, const char *value) {
  double number;
  bool whole = read_number(&number, value, "") && number == floor(number);
  if (!whole || !(number >= 2 && number <= LB_CURVES_SPEEDS_MOST)) {
    message_usage(options->command, "--points: '%s' is no number of speeds; write 2 to %d", value,
                  LB_CURVES_SPEEDS_MOST);
    return false;
  }
  options->points = (int)number;
  return true;
}

bool keep_c_header(struct options *options, const char *value) {
  if (!lb_controller_prefix_fits(value)) {
    message_usage(options->command,
                  "--c-header: '%s' cannot begin a name in C; write a letter, then letters, digits "
                  "and underscores, 31 at most",
                  value);
    return false;
  }
  options->c_header = value;
  return true;
}

/* The rows as getopt_long wants them: the long forms, and a text of the letters. */
static void describe(struct option *list, char *letters, const struct option_row *row) {
  int count = 0;
  *letters++ = ':';
  for (; row[count].name && count < ROWS_MOST; count++) {
    list[count] = (struct option){.name = row[count].name,
                                  .has_arg = row[count].value ? required_argument : no_argument,
                                  .val = FIRST_ROW + count};
    if (row[count].letter)
      *letters++ = row[count].letter;
    if (row[count].letter && row[count].value)
      *letters++ = ':';
  }
  list[count] = (struct option){0};
  *letters = '\0';
}

/* The row that getopt_long found by its long form or its letter, or NULL. */
static const struct option_row *row_of(const struct command *command, int found) {
  if (found >= FIRST_ROW)
    return &command->options[found - FIRST_ROW];
  for (const struct option_row *row = command->options; row->name; row++)
    if (row->letter == found)
      return row;
  return NULL;
}

/* What getopt_long could not take: `found` is ':' for a missing value. */
static void refuse(const struct command *command, int found, char *const *argv) {
  const struct option_row *row = optopt ? row_of(command, optopt) : NULL;
  if (row && found == ':')
    message_usage(command, "--%s needs a value: --%s %s", row->name, row->name, row->value);
  else if (row)
    message_usage(command, "--%s takes no value", row->name);
  else if (optopt)
    message_usage(command, "unknown option '-%c'", optopt);
  else
    message_usage(command, "unknown option '%s'", argv[optind - 1]);
}

static bool count_operands(const struct options *options, const struct command *command) {
  if (options->operands < command->least_operands) {
    message_usage(command, "no %s given", command->operand);
    return false;
  }
  if (options->operands > command->most_operands) {
    message_usage(command, "'%s' is one too many; it takes %s%s",
                  options->operand[command->most_operands],
                  command->most_operands ? command->operand : "no file",
                  options->sets > 0 ? ", and a value with blanks goes in quotes: --set "
                                      "'cylinder.bore=50 mm'"
                                    : "");
    return false;
  }
  return true;
}

bool options_read(struct options *options, const struct command *command, int argc, char **argv) {
  struct option list[ROWS_MOST + 1];
  char letters[LETTERS_SIZE];
  describe(list, letters, command->options);
  *options = (struct options){
      .command = command, .rule = LB_ATMOSPHERIC, .measured = {LB_SHEET_BAR, LB_SHEET_BAR}};
  opterr = 0;
  for (int found; (found = getopt_long(argc, argv, letters, list, NULL)) != -1;) {
    const struct option_row *row = found == '?' || found == ':' ? NULL : row_of(command, found);
    if (!row) {
      refuse(command, found, argv);
      return false;
    }
    if (!row->keep(options, optarg))
      return false;
  }
  options->operand = argv + optind;
  options->operands = argc - optind;
  if (options->help)
    return true;
  if (options->json && options->csv) {
    message_usage(command, "--json and --csv exclude each other");
    return false;
  }
  if ((options->json || options->csv) && (options->sketch || options->disc > 0)) {
    message_usage(command, "%s is for the text; leave out %s",
                  options->sketch ? "--sketch" : "--disc", options->json ? "--json" : "--csv");
    return false;
  }
  return count_operands(options, command);
}
