/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * lastbar chart: sheets for the workshop, as a file.
 */
#include "command.h"
#include "input.h"
#include "message.h"
#include "question.h"
#include "rundown.h"

#include "base/file_save.h"
#include "paper/chart.h"
#include "paper/drawing_cairo.h"
#include "paper/drawing_dxf.h"
#include "paper/sheet_curves.h"
#include "paper/text.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

enum {
  SPEEDS = 60 /* of a curve */
};

static const struct option_row rows[] = {
    OPTION_OUTPUT,           OPTION_SHEET,      OPTION_PAGE,   OPTION_PAPER,       OPTION_DPI,
    OPTION_PRINT_CORRECTION, OPTION_CYCLE_RULE, OPTION_MARGIN, OPTION_DRAWN_SPEED, OPTION_SET,
    OPTION_EXPANSION,        OPTION_UNITS,      OPTION_HELP,   OPTION_END};

/* The formats, by the ending of the file's name. */
enum format {
  PDF,
  SVG,
  PNG,
  DXF,
  FORMATS
};
static const char *const endings[FORMATS] = {".pdf", ".svg", ".png", ".dxf"};

/* FORMATS when the ending is none of them. */
static enum format format_of(const char *name) {
  const char *dot = strrchr(name, '.');
  int format = 0;
  while (format < FORMATS &&
         !(dot && dot > name && dot[-1] != '/' && strcasecmp(dot, endings[format]) == 0))
    format++;
  return (enum format)format;
}

/* What the options say that no machine need be known for. */
static bool options_fit(const struct options *options) {
  const struct command *command = options->command;
  if (!options->output) {
    message_usage(command, "no file to write; say which, such as -o chart.pdf");
    return false;
  }
  enum format format = format_of(options->output);
  bool corrected = options->measured[0] != LB_SHEET_BAR || options->measured[1] != LB_SHEET_BAR;
  if (format == FORMATS)
    message_usage(command, "--output: '%s' ends in none of .pdf, .svg, .png and .dxf",
                  options->output);
  else if (options->dpi > 0 && format != PNG)
    message_usage(command, "--dpi: only a .png has dots; leave it out");
  else if (corrected && format == DXF)
    message_usage(command, "--print-correction: a .dxf is for a machine that cuts true to size; "
                           "leave it out, or write a .pdf");
  else if (options->speed > 0 && options->sheet_given && !options->sheet[LB_CHART_INDICATOR] &&
           !options->sheet[LB_CHART_RUNDOWN])
    message_usage(command, "--speed: only the indicator diagram and the rundown are drawn at a "
                           "speed; leave it out, or add one of them to --sheet");
  else
    return true;
  return false;
}

/* Whether a sheet is asked for, or the machine has it where none is. */
static bool is_wanted(enum lb_chart chart, const struct lb_machine *machine,
                      const struct options *options) {
  return options->sheet_given ? options->sheet[chart] : lb_chart_applies(chart, machine);
}

/* Whether a sheet that has no answer may be left out: it was not asked for by its name. */
static bool is_spared(enum lb_chart chart, const struct lb_sheet *sheet,
                      const struct options *options) {
  return chart == LB_CHART_RUNDOWN && !options->sheet_given && !sheet->rundown;
}

/* Draw the sheets asked for, or all that the machine has an answer for. */
static enum lb_status draw(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                           const struct options *options, struct lb_error *error) {
  enum lb_status status = LB_OK;
  for (int i = 0; i < LB_CHARTS && status == LB_OK; i++) {
    enum lb_chart chart = (enum lb_chart)i;
    if (is_wanted(chart, sheet->paper->machine, options) && !is_spared(chart, sheet, options))
      status = lb_chart_draw(drawing, sheet, chart, error);
  }
  return status;
}

/* Leave the page asked for alone in a drawing. What its format cannot hold is refused. */
static int choose_page(struct lb_drawing *drawing, const struct options *options) {
  const struct command *command = options->command;
  int pages = (int)drawing->pages;
  if (options->page > pages)
    return message_usage(command, "--page: there is no page %d of %d", options->page, pages);
  if (options->page == 0 && pages > 1 && format_of(options->output) != PDF)
    return message_usage(command,
                         "--output: %d pages, and a %s holds one; write a .pdf, or choose with "
                         "--sheet and --page 1 ... %d",
                         pages, strrchr(options->output, '.'), pages);
  if (options->page > 0) {
    drawing->page[0] = drawing->page[options->page - 1];
    drawing->pages = 1;
  }
  return ANSWERED;
}

/* Write the drawing in the format of the file's ending. */
static enum lb_status save(const struct lb_drawing *drawing, const struct options *options,
                           const char *title, struct lb_error *error) {
  static const enum lb_drawing_format formats[] = {
      [PDF] = LB_DRAWING_PDF, [SVG] = LB_DRAWING_SVG, [PNG] = LB_DRAWING_PNG};
  enum format format = format_of(options->output);
  double dpi = options->dpi > 0 ? options->dpi : LB_DPI_USUAL;
  char *bytes = NULL;
  size_t length = 0;
  enum lb_status status = format == DXF ? lb_drawing_dxf(&bytes, &length, drawing, error)
                                        : lb_drawing_write(&bytes, &length, drawing,
                                                           formats[format], title, dpi, error);
  if (status == LB_OK)
    status = lb_file_save(options->output, bytes, length, error);
  free(bytes);
  return status;
}

/* What sheets show beyond the slow revolution. */
struct beyond {
  struct lb_curves curves;
  struct lb_rundown *rundown;
  struct lb_running running;
  struct lb_gas *gas;
};

static enum lb_status find_curves(struct beyond *beyond, struct lb_sheet *sheet,
                                  const struct options *options, struct lb_error *error) {
  const struct lb_machine *machine = sheet->paper->machine;
  struct lb_curves_question question = {
      .rule = sheet->paper->rule, .margin = options->margin, .speeds = SPEEDS};
  if (!is_wanted(LB_CHART_CURVES, machine, options))
    return LB_OK;
  lb_sheet_curves_pressures(&question, machine, options->inch);
  sheet->curves = &beyond->curves;
  return lb_curves_find(&beyond->curves, machine, &question, error);
}

/* Say that the rundown is left out, and why. */
static void leave_out(const struct lb_error *why, const struct options *options) {
  struct lb_error told = *why;
  lb_error_set(&told, why->status, "no sheet of the rundown: %s", why->text);
  told.file = options->operand[0];
  message_error(&told, options);
}

/* A machine without an answer has no rundown, which fails only where it was asked for. */
static enum lb_status find_rundown(struct beyond *beyond, struct lb_sheet *sheet,
                                   const struct options *options, struct lb_error *error) {
  const struct lb_machine *machine = sheet->paper->machine;
  if (!is_wanted(LB_CHART_RUNDOWN, machine, options) ||
      !lb_chart_applies(LB_CHART_RUNDOWN, machine))
    return LB_OK;
  beyond->rundown = lb_rundown_new();
  enum lb_status status =
      rundown_ask(beyond->rundown, machine, options, sheet->paper->rule, false, error);
  if (status == LB_OK)
    sheet->rundown = beyond->rundown;
  if (options->sheet_given || (status != LB_NO_ANSWER && status != LB_BAD_INPUT))
    return status;
  leave_out(error, options);
  return LB_OK;
}

static enum lb_status turn(struct beyond *beyond, struct lb_sheet *sheet,
                           const struct options *options, struct lb_error *error) {
  const struct lb_machine *machine = sheet->paper->machine;
  if (!(options->speed > 0) || !is_wanted(LB_CHART_INDICATOR, machine, options))
    return LB_OK;
  beyond->gas = lb_gas_new();
  if (!beyond->gas)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for the cycle at speed");
  sheet->gas = beyond->gas;
  sheet->running = &beyond->running;
  return lb_running_turn(&beyond->running, beyond->gas, machine, lb_sheet_cutoff(sheet),
                         options->speed, false, error);
}

/* Calculate what the sheets asked for show, and put it on them. */
static enum lb_status run_machine(struct beyond *beyond, struct lb_sheet *sheet,
                                  const struct options *options, struct lb_error *error) {
  enum lb_status status = find_curves(beyond, sheet, options, error);
  if (status == LB_OK)
    status = turn(beyond, sheet, options, error);
  return status == LB_OK ? find_rundown(beyond, sheet, options, error) : status;
}

static int write_sheets(struct lb_sheet *sheet, const struct options *options) {
  struct lb_drawing drawing = {0};
  struct beyond beyond = {.gas = NULL};
  struct lb_error error = {0};
  enum lb_status status = run_machine(&beyond, sheet, options, &error);
  if (status == LB_OK)
    status = draw(&drawing, sheet, options, &error);
  int exit_status = ANSWERED;
  if (status != LB_OK)
    error.file = options->operand[0];
  else
    exit_status = choose_page(&drawing, options);
  if (status == LB_OK && exit_status == ANSWERED)
    status = save(&drawing, options, sheet->paper->machine->name, &error);
  lb_drawing_free(&drawing);
  lb_curves_free(&beyond.curves);
  lb_rundown_free(beyond.rundown);
  lb_gas_free(beyond.gas);
  return status == LB_OK ? exit_status : message_error(&error, options);
}

/* Why the choice that was to be drawn has no answer, on one line. */
static int refuse(const struct lb_choice *choice, const struct options *options,
                  struct lb_error *error) {
  lb_error_set(error, LB_NO_ANSWER, "no timing to draw: %s%s%s", choice->why,
               *choice->would_do ? "; " : "", choice->would_do);
  error->file = options->operand[0];
  return message_error(error, options);
}

static int draw_answer(const struct input *input, const struct options *options) {
  struct question q;
  struct lb_error error = {0};
  enum lb_rule rule = options->rule_given ? options->rule : LB_AS_TIMED;
  enum lb_status status = question_ask(&q, input, options, rule, true, &error);
  const struct lb_choice *choice = &q.answer.choice[rule];
  int exit_status = ANSWERED;
  if (status != LB_OK) {
    error.file = options->operand[0];
    exit_status = message_error(&error, options);
  } else if (!choice->found) {
    exit_status = refuse(choice, options, &error);
  } else {
    struct lb_sheet sheet = {
        .paper = &q.paper,
        .cycle = q.cycle,
        .inch = options->inch,
        .file = input->name,
        .checksum = input->checksum,
        .changes = input->changes,
        .size = options->paper,
        .measured = {options->measured[0], options->measured[1]},
        .cutting = format_of(options->output) == DXF,
    };
    exit_status = write_sheets(&sheet, options);
  }
  question_free(&q);
  return exit_status;
}

static int run(const struct options *options) {
  return options_fit(options) ? input_answer(options, draw_answer) : BAD_USAGE;
}

const struct command command_chart = {
    .name = "chart",
    .operand = "FILE",
    .least_operands = 1,
    .most_operands = 1,
    .summary = "sheets for the workshop: timing, diagrams, templates",
    .description =
        "Draws the machine in FILE for the bench, with the timing in the file or that of\n"
        "a rule: the timing sheet with the angles to set, the indicator diagram, the\n"
        "torque over a turn, where the valves have a conductance the curves over the\n"
        "speed, with a store and a load how the store runs down, and, in true size, the\n"
        "switch disc and the cams that the file describes.\n"
        "The ending of OUT says the format: .pdf holds all pages; .svg, .png and .dxf\n"
        "(for cutting, in mm) hold one. FILE - is standard input.\n",
    .example = "lastbar chart data/machines/trolley.ini -o trolley.pdf",
    .options = rows,
    .run = run,
};
