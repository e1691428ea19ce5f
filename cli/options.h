/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The options of the command line. Each command has a table of rows; the table drives their reading
 * and the text of --help.
 */
#ifndef LASTBAR_CLI_OPTIONS_H
#define LASTBAR_CLI_OPTIONS_H

#include <stdbool.h>

#include "decide/curves.h"
#include "paper/chart.h"

struct command;

enum {
  SETS_MOST = 200 /* overrides on one command line */
};

/* What was asked for. Strings are those of the command line. */
struct options {
  const struct command *command; /* whose options they are, for messages */
  const char *set[SETS_MOST];    /* "section.key=value" */
  int sets;
  const char *expansion;   /* a law or exponent as typed, or NULL */
  double margin;           /* [Pa] >= 0 */
  const char *margin_text; /* the same as typed, or NULL */
  double disc;             /* [m] diameter; 0: none */
  bool rule_given;         /* --rule was there; else `rule` is what most commands take */
  enum lb_rule rule;       /* LB_AS_TIMED, LB_ATMOSPHERIC or LB_ECONOMY: decides the exit status */
  bool inch, json, csv, sketch, help;
  const char *output;    /* file to write, or NULL */
  bool sheet[LB_CHARTS]; /* the sheets asked for */
  bool sheet_given;      /* else all that apply */
  int page;              /* 1 ...; 0: all */
  enum lb_paper_size paper;
  double dpi;         /* 0: not said */
  double measured[2]; /* [mm] of the bars; LB_SHEET_BAR unless --print-correction */
  double speed;       /* [rad/s] of the crank; 0: not said */
  bool by_speed;      /* the table's rows are speeds */
  const char *from,
      *to; /* pressures or speeds as typed, or NULL: gauge needs the machine's surroundings */
  const char *pressure[LB_CURVES_MOST]; /* pressure[pressures] as typed */
  int pressures;
  int points;           /* of a curve; 0: not said */
  const char *c_header; /* prefix of a C header, or NULL */
  char **operand;       /* operand[operands] */
  int operands;
};

/* One option of a command. */
struct option_row {
  const char *name;    /* without the dashes; NULL closes a table */
  char letter;         /* the short form -X, or 0 */
  const char *value;   /* how its value is shown, or NULL when it takes none */
  const char *meaning; /* a phrase without full stop */

  /* The words its value may be, closed by NULL, which a shell completes; NULL when it is no
   * word. */
  const char *const *words;

  /* Take the value (NULL when it has none) into the options. Returns false after saying what is
   * wrong with it. */
  bool (*keep)(struct options *options, const char *value);
};

/* The words of --expansion, --rule, --units, --sheet and --paper. */
extern const char *const option_laws[],
    *const option_rules[], *const option_units[], *const option_by[], *const option_sheets[],
                                                                          *const option_papers[];

/* The rows a command's table is made of. */
#define OPTION_SET                                                                                 \
  {                                                                                                \
    "set", 0, "'SECTION.KEY=VALUE'", "use this value in place of the file's; may be repeated",     \
        NULL, keep_set                                                                             \
  }
#define OPTION_EXPANSION                                                                           \
  {                                                                                                \
    "expansion", 0, "LAW",                                                                         \
        "adiabatic, isothermal or an exponent from 1 to 1.42, for expansion and compression",      \
        option_laws, keep_expansion                                                                \
  }
#define OPTION_RULE                                                                                \
  {                                                                                                \
    "rule", 0, "RULE",                                                                             \
        "the rule looked at closer, whose absence makes the exit status 1: as-timed, atmospheric " \
        "(taken if not said) or economy; all are shown",                                           \
        option_rules, keep_rule                                                                    \
  }
#define OPTION_CYCLE_RULE                                                                          \
  {                                                                                                \
    "rule", 0, "RULE", "whose timing: as-timed (taken if not said), atmospheric or economy",       \
        option_rules, keep_rule                                                                    \
  }
#define OPTION_MARGIN                                                                              \
  {                                                                                                \
    "margin", 0, "'0.2 bar'", "release this much above back pressure; a difference of pressure",   \
        NULL, keep_margin                                                                          \
  }
#define OPTION_DISC                                                                                \
  {                                                                                                \
    "disc", 0, "'120 mm'", "give tolerances in length, too, on a disc of this diameter", NULL,     \
        keep_disc                                                                                  \
  }
#define OPTION_SKETCH                                                                              \
  { "sketch", 0, NULL, "with the timing circle in letters", NULL, keep_sketch }
#define OPTION_UNITS                                                                               \
  {                                                                                                \
    "units", 0, "metric|inch", "units of what is printed to read; metric if not said",             \
        option_units, keep_units                                                                   \
  }
#define OPTION_JSON                                                                                \
  { "json", 0, NULL, "for programs: one JSON object, SI units", NULL, keep_json }
#define OPTION_CSV                                                                                 \
  { "csv", 0, NULL, "for spreadsheets: a header row, then the values", NULL, keep_csv }
#define OPTION_HELP                                                                                \
  { "help", 0, NULL, "this text", NULL, keep_help }
#define OPTION_OUTPUT                                                                              \
  { "output", 'o', "OUT", "the file to write; its ending says the format", NULL, keep_output }
#define OPTION_SHEET                                                                               \
  {                                                                                                \
    "sheet", 0, "SHEET,...",                                                                       \
        "timing, indicator, torque, curves, rundown, disc, cam, or several of them; all the "      \
        "machine has if not said",                                                                 \
        option_sheets, keep_sheet                                                                  \
  }
#define OPTION_PAGE                                                                                \
  { "page", 0, "N", "only this page, for formats that hold one", NULL, keep_page }
#define OPTION_PAPER                                                                               \
  { "paper", 0, "A4|A3|letter", "size of the paper; A4 if not said", option_papers, keep_paper }
#define OPTION_DPI                                                                                 \
  { "dpi", 0, "DPI", "dots per inch of a PNG, 30 to 1200; 150 if not said", NULL, keep_dpi }
#define OPTION_PRINT_CORRECTION                                                                    \
  {                                                                                                \
    "print-correction", 0, "X,Y",                                                                  \
        "what the bars of 100 mm across and up the page measured when printed, in mm", NULL,       \
        keep_print_correction                                                                      \
  }
#define OPTION_TABLE_RULE                                                                          \
  {                                                                                                \
    "rule", 0, "RULE",                                                                             \
        "by which the cut-off is found: atmospheric (taken if not said), economy or "              \
        "as-timed",                                                                                \
        option_rules, keep_rule                                                                    \
  }
#define OPTION_SPEED                                                                               \
  {                                                                                                \
    "speed", 0, "'120 rpm'",                                                                       \
        "the crank's, for what really flows, for times and for when to switch late valves", NULL,  \
        keep_speed                                                                                 \
  }
#define OPTION_DRAWN_SPEED                                                                         \
  {                                                                                                \
    "speed", 0, "'120 rpm'",                                                                       \
        "draw the indicator diagram at this speed, too, over the slow one, and run the store "     \
        "down at it",                                                                              \
        NULL, keep_speed                                                                           \
  }
#define OPTION_RUN_SPEED                                                                           \
  {                                                                                                \
    "speed", 0, "'120 rpm'",                                                                       \
        "the crank's, for what really flows and for all that takes time; slowly if not said",      \
        NULL, keep_speed                                                                           \
  }
#define OPTION_FIXED_RULE                                                                          \
  {                                                                                                \
    "rule", 0, "RULE",                                                                             \
        "whose timing the plans with a fixed one have: as-timed (taken if not said), atmospheric " \
        "or economy, at the supply pressure of the file",                                          \
        option_rules, keep_rule                                                                    \
  }
#define OPTION_FROM                                                                                \
  {                                                                                                \
    "from", 0, "'2 bar gauge'",                                                                    \
        "lowest supply pressure of the table, gauge or absolute; by speed the lowest speed", NULL, \
        keep_from                                                                                  \
  }
#define OPTION_TO                                                                                  \
  {                                                                                                \
    "to", 0, "'8 bar gauge'", "highest supply pressure of the table; by speed the highest speed",  \
        NULL, keep_to                                                                              \
  }
#define OPTION_BY                                                                                  \
  {                                                                                                \
    "by", 0, "pressure|speed",                                                                     \
        "what the rows are: supply pressures of the slow cycle, or speeds with what really flows", \
        option_by, keep_by                                                                         \
  }
#define OPTION_PRESSURE                                                                            \
  {                                                                                                \
    "pressure", 0, "'4 bar gauge'",                                                                \
        "supply pressure of a curve; may be repeated; the file's if not said", NULL, keep_pressure \
  }
#define OPTION_FIRST_SPEED                                                                         \
  { "from", 0, "'20 rpm'", "lowest speed", NULL, keep_from }
#define OPTION_LAST_SPEED                                                                          \
  {                                                                                                \
    "to", 0, "'600 rpm'",                                                                          \
        "highest speed; beyond that without load if not said, but 3000 rpm at most", NULL, keep_to \
  }
#define OPTION_POINTS                                                                              \
  { "points", 0, "N", "speeds of a curve, 2 to 2000; 60 if not said", NULL, keep_points }
#define OPTION_C_HEADER                                                                            \
  {                                                                                                \
    "c-header", 0, "PREFIX", "as a C header for a controller, whose names begin so", NULL,         \
        keep_c_header                                                                              \
  }
#define OPTION_END                                                                                 \
  { NULL, 0, NULL, NULL, NULL, NULL }

bool keep_set(struct options *options, const char *value);
bool keep_expansion(struct options *options, const char *value);
bool keep_rule(struct options *options, const char *value);
bool keep_margin(struct options *options, const char *value);
bool keep_disc(struct options *options, const char *value);
bool keep_sketch(struct options *options, const char *value);
bool keep_units(struct options *options, const char *value);
bool keep_json(struct options *options, const char *value);
bool keep_csv(struct options *options, const char *value);
bool keep_help(struct options *options, const char *value);
bool keep_output(struct options *options, const char *value);
bool keep_sheet(struct options *options, const char *value);
bool keep_page(struct options *options, const char *value);
bool keep_paper(struct options *options, const char *value);
bool keep_dpi(struct options *options, const char *value);
bool keep_print_correction(struct options *options, const char *value);
bool keep_speed(struct options *options, const char *value);
bool keep_by(struct options *options, const char *value);
bool keep_from(struct options *options, const char *value);
bool keep_to(struct options *options, const char *value);
bool keep_pressure(struct options *options, const char *value);
bool keep_points(struct options *options, const char *value);
bool keep_c_header(struct options *options, const char *value);

/* Read the options and operands behind a command's name.
 * options  out
 * argv     argv[argc], the command's name first; put in order so that operands come last
 * Returns false after saying what is wrong. */
bool options_read(struct options *options, const struct command *command, int argc, char **argv);

/* Read a speed of a crank [rad/s], above 0 and up to 10000 rpm.
 * speed   out
 * option  whose value it is, without the dashes
 * Returns false after saying what is wrong with it. */
bool options_read_speed(double *speed, const char *option, const char *value,
                        const struct options *options);

#endif
