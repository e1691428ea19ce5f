/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Heading and foot of a page, directions, and texts and tables that keep to their room.
 */
#include "paper/sheet.h"

#include "base/constants.h"
#include "base/format.h"
#include "paper/answer_cutoff_page.h"
#include "paper/drawing_letters.h"
#include "paper/table_write.h"
#include "paper/text.h"

#include <inttypes.h>
#include <math.h>
#include <string.h>

const struct lb_pen lb_pen_fine = {.layer = LB_LAYER_MARK, .width = 0.13};
const struct lb_pen lb_pen_normal = {.layer = LB_LAYER_MARK, .width = 0.25};
const struct lb_pen lb_pen_heavy = {.layer = LB_LAYER_MARK, .width = 0.5};
const struct lb_pen lb_pen_dashed = {.layer = LB_LAYER_MARK, .width = 0.25, .dash = 1.5};
const struct lb_pen lb_pen_cut = {.layer = LB_LAYER_CUT, .width = 0.13};

/* From one line of text to the next, and from the top of its room down to a line, as shares of the
 * letters' body [1]: an accent above it and a tail below fit between. */
static const double line_pitch = 1.35, line_ascent = LB_LETTER_ACCENT;

/* What must not be undone by a rounding when rooms are compared [mm]. */
static const double hair = 1e-6;

void lb_sheet_paper(double *width, double *height, enum lb_paper_size size) {
  static const double sizes[LB_PAPER_SIZES][2] = {/* [mm]; ISO 216, and 8-1/2 by 11 inches */
                                                  [LB_PAPER_A4] = {210, 297},
                                                  [LB_PAPER_A3] = {297, 420},
                                                  [LB_PAPER_LETTER] = {215.9, 279.4}};
  *width = sizes[size][0];
  *height = sizes[size][1];
}

const double *lb_sheet_cutoff(const struct lb_sheet *sheet) {
  return sheet->paper->answer->choice[sheet->paper->rule].cutoff;
}

double lb_sheet_direction(const struct lb_machine *machine, double crank_angle) {
  return LB_PI / 2 + (machine->clockwise ? -crank_angle : crank_angle);
}

double lb_sheet_template_direction(const struct lb_machine *machine, double place,
                                   double crank_angle) {
  return lb_sheet_direction(machine, place - crank_angle);
}

struct lb_point lb_sheet_polar(struct lb_point centre, double radius, double direction) {
  return (struct lb_point){centre.x + radius * cos(direction), centre.y + radius * sin(direction)};
}

const char *lb_sheet_rule(const struct lb_sheet *sheet) {
  struct lb_text unused = {0};
  const struct lb_cutoff_page page = lb_page_begin(sheet->paper, sheet->inch, true, &unused);
  switch (sheet->paper->rule) {
  case LB_COMMON_ECONOMY:
    return "best economy, one angle for both ends";
  case LB_COMMON_ATMOSPHERIC:
    return "one angle for both ends, the later of the two";
  case LB_AS_TIMED:
    return lb_page_choice(&page, page.own_timing ? LB_AS_TIMED : LB_ATMOSPHERIC);
  default:
    return lb_page_choice(&page, sheet->paper->rule);
  }
}

struct lb_style lb_sheet_style(const struct lb_sheet *sheet) {
  return (struct lb_style){sheet->inch, sheet->paper->machine->ambient_pressure};
}

void lb_sheet_order(double *from, double *to, bool clockwise) {
  double first = *from;
  if (!clockwise)
    return;
  *from = *to;
  *to = first;
}

/* Number of letters of a text. */
static size_t count_letters(const char *utf8) {
  size_t count = 0;
  for (const char *at = utf8; *at; count++)
    lb_letter_next(&at);
  return count;
}

static const char *skip_letters(const char *utf8, size_t letters) {
  for (; letters > 0 && *utf8; letters--)
    lb_letter_next(&utf8);
  return utf8;
}

/* Put in `shorter` a text of which `kept` letters are left, the middle being replaced. */
static void shorten(struct lb_text *shorter, const char *utf8, size_t letters, size_t kept) {
  const char *head_end = skip_letters(utf8, kept - kept / 2);
  const char *tail = skip_letters(utf8, letters - kept / 2);
  lb_text_free(shorter);
  lb_text_add(shorter, "%.*s...%s", (int)(head_end - utf8), utf8, tail);
}

/* The most letters of a text with which it is no wider than a room; by bisection, as a letter more
 * never makes it narrower. */
static void shorten_to(struct lb_text *shorter, const struct lb_lettering *lettering, double width,
                       const char *utf8) {
  size_t letters = count_letters(utf8), kept = 0, too_many = letters;
  while (kept + 1 < too_many && !shorter->failed) {
    size_t middle = kept + (too_many - kept) / 2;
    shorten(shorter, utf8, letters, middle);
    if (!shorter->failed && lb_drawing_text_width(lettering, shorter->bytes) <= width)
      kept = middle;
    else
      too_many = middle;
  }
  shorten(shorter, utf8, letters, kept);
}

void lb_sheet_text(struct lb_drawing *drawing, const struct lb_lettering *lettering,
                   struct lb_point at, double width, const char *utf8) {
  struct lb_lettering fitting = *lettering;
  double wanted = lb_drawing_text_width(lettering, utf8);
  if (wanted > width)
    fitting.size = fmax(lettering->size * width / wanted, fmin(lettering->size, LB_LETTERS_SMALL));
  if (lb_drawing_text_width(&fitting, utf8) <= width + hair) {
    lb_drawing_text(drawing, &fitting, at, utf8);
    return;
  }
  struct lb_text shorter = {0};
  shorten_to(&shorter, &fitting, width, utf8);
  drawing->failed |= shorter.failed;
  if (!shorter.failed && lb_drawing_text_width(&fitting, shorter.bytes) <= width + hair)
    lb_drawing_text(drawing, &fitting, at, shorter.bytes);
  lb_text_free(&shorter);
}

/* Take the next line of a text into `line`: as many words as a width holds, at least one. */
static const char *take_line(struct lb_text *line, const char *at, double width, double letters) {
  const struct lb_lettering lettering = {.size = letters};
  size_t length = strcspn(at, " \n"), fitting = length;
  while (at[length] == ' ') {
    length += 1 + strcspn(at + length + 1, " \n");
    lb_text_free(line);
    lb_text_add(line, "%.*s", (int)length, at);
    if (line->failed || lb_drawing_text_width(&lettering, line->bytes) > width)
      break;
    fitting = length;
  }
  lb_text_free(line);
  lb_text_add(line, "%.*s", (int)fitting, at);
  at += fitting;
  return *at ? at + 1 : at;
}

double lb_sheet_height(double width, double letters, const char *utf8) {
  size_t lines = 0;
  for (const char *at = utf8; *at; lines++) {
    struct lb_text line = {0};
    at = take_line(&line, at, width, letters);
    lb_text_free(&line);
  }
  return (double)lines * line_pitch * letters;
}

struct lb_box lb_sheet_write(struct lb_drawing *drawing, struct lb_box box, double letters,
                             const char *utf8) {
  const struct lb_lettering lettering = {.size = letters};
  const double pitch = line_pitch * letters, width = box.right - box.left;
  for (const char *at = utf8; *at && box.top - pitch >= box.bottom - hair; box.top -= pitch) {
    struct lb_text line = {0};
    at = take_line(&line, at, width, letters);
    drawing->failed |= line.failed;
    if (!line.failed)
      lb_sheet_text(drawing, &lettering,
                    (struct lb_point){box.left, box.top - line_ascent * letters}, width,
                    line.bytes);
    lb_text_free(&line);
  }
  return box;
}

/* Room around the texts in a cell [mm]. */
static const double cell_side = 1.0, cell_above = 0.5;

/* What a table is drawn from. */
struct cells {
  const char *const *cell;
  int rows, columns;
  const double *width;
  double letters;
};

static const char *cell_of(const struct cells *cells, int row, int column) {
  return cells->cell[row * cells->columns + column];
}

/* Whether a cell begins like a number. */
static bool is_figure(const char *cell) {
  cell += strspn(cell, "+-");
  return *cell >= '0' && *cell <= '9';
}

static bool has_figures(const struct cells *cells, int column) {
  for (int row = 1; row < cells->rows; row++)
    if (is_figure(cell_of(cells, row, column)))
      return true;
  return false;
}

static double row_height(const struct cells *cells, int row) {
  size_t most = 1;
  for (int column = 0; column < cells->columns; column++) {
    size_t lines = 1;
    for (const char *at = cell_of(cells, row, column); (at = strchr(at, '\n')); at++)
      lines++;
    most = lines > most ? lines : most;
  }
  return (double)most * line_pitch * cells->letters + 2 * cell_above;
}

/* The lines of a cell, downwards from the top of its row. */
static void draw_cell(struct lb_drawing *drawing, const struct cells *cells, int row, int column,
                      struct lb_point top_left) {
  bool right = has_figures(cells, column);
  struct lb_lettering lettering = {
      .size = cells->letters, .align = right ? LB_ALIGN_RIGHT : LB_ALIGN_LEFT, .bold = row == 0};
  struct lb_point at = {top_left.x + (right ? cells->width[column] - cell_side : cell_side),
                        top_left.y - cell_above - line_ascent * cells->letters};
  const char *text = cell_of(cells, row, column);
  for (bool more = true; more; at.y -= line_pitch * cells->letters) {
    size_t length = strcspn(text, "\n");
    struct lb_text line = {0};
    lb_text_add(&line, "%.*s", (int)length, text);
    drawing->failed |= line.failed;
    if (!line.failed)
      lb_sheet_text(drawing, &lettering, at, cells->width[column] - 2 * cell_side, line.bytes);
    lb_text_free(&line);
    more = text[length] == '\n';
    text += length + more;
  }
}

/* One row with the line below it. */
static void draw_row(struct lb_drawing *drawing, const struct cells *cells, int row,
                     struct lb_point top_left) {
  double bottom = top_left.y - row_height(cells, row), right = top_left.x;
  for (int column = 0; column < cells->columns; column++) {
    draw_cell(drawing, cells, row, column, (struct lb_point){right, top_left.y});
    right += cells->width[column];
  }
  lb_drawing_line(drawing, row == 0 ? &lb_pen_normal : &lb_pen_fine,
                  (struct lb_point){top_left.x, bottom}, (struct lb_point){right, bottom});
}

struct lb_box lb_sheet_table(struct lb_drawing *drawing, struct lb_box box, double letters,
                             const char *const *cell, int rows, int columns, const double *width) {
  const struct cells cells = {cell, rows, columns, width, letters};
  const double top = box.top;
  double x = box.left;
  for (int row = 0; row < rows; row++) {
    double height = row_height(&cells, row);
    if (box.top - height < box.bottom - hair)
      break;
    draw_row(drawing, &cells, row, (struct lb_point){box.left, box.top});
    box.top -= height;
  }
  for (int column = 0; column <= columns && box.top < top; column++) {
    lb_drawing_line(drawing, &lb_pen_fine, (struct lb_point){x, top},
                    (struct lb_point){x, box.top});
    x += column < columns ? width[column] : 0;
  }
  if (box.top < top)
    lb_drawing_line(drawing, &lb_pen_normal, (struct lb_point){box.left, top},
                    (struct lb_point){x, top});
  return box;
}

/* "Garden-railway trolley: Timing (as timed in the file)". A machine's name is what is shortened,
 * so that the rest can be read. */
static void draw_title(struct lb_drawing *drawing, const struct lb_sheet *sheet, const char *title,
                       struct lb_box box) {
  const double least_letters = 4; /* [mm] so that it still looks like a title */
  const struct lb_lettering lettering = {.size = LB_LETTERS_TITLE, .bold = true};
  const struct lb_lettering least = {.size = least_letters, .bold = true};
  const struct lb_point at = {box.left, box.top - line_ascent * LB_LETTERS_TITLE};
  const double width = box.right - box.left;
  const char *machine_name = sheet->paper->machine->name;
  char rest[160];
  struct lb_text name = {0};
  lb_format(rest, sizeof rest, ": %s (%s)", title, lb_sheet_rule(sheet));
  double room = width - lb_drawing_text_width(&least, rest);
  if (lb_drawing_text_width(&least, machine_name) > room)
    shorten_to(&name, &least, room, machine_name);
  else
    lb_text_add(&name, "%s", machine_name);
  lb_text_add(&name, "%s", rest);
  drawing->failed |= name.failed;
  if (!name.failed)
    lb_sheet_text(drawing, &lettering, at, width, name.bytes);
  lb_text_free(&name);
}

/* The machine and what holds around it, as in the note but for its name, which is the first line.
 */
static struct lb_box draw_machine(struct lb_drawing *drawing, struct lb_cutoff_page *page,
                                  struct lb_box box) {
  struct lb_text *text = page->out;
  lb_page_head(page);
  drawing->failed |= text->failed;
  const char *name_end = text->failed ? NULL : strchr(text->bytes, '\n');
  if (name_end)
    box = lb_sheet_write(drawing, box, LB_LETTERS_SMALL, name_end + 1);
  lb_text_free(text);
  return box;
}

/* What the sheet was made by and from. */
static struct lb_box draw_origin(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                                 struct lb_box box) {
  const struct lb_lettering lettering = {.size = LB_LETTERS_SMALL};
  const double width = box.right - box.left;
  char made[80];
  lb_format(made, sizeof made, "CRC-32 %08" PRIx32 "\nlastbar %s", sheet->checksum,
            lb_table_write_version());
  lb_sheet_text(drawing, &lettering,
                (struct lb_point){box.left, box.top - line_ascent * LB_LETTERS_SMALL}, width,
                sheet->file);
  box.top -= line_pitch * LB_LETTERS_SMALL;
  return lb_sheet_write(drawing, box, LB_LETTERS_SMALL, made);
}

/* What the command line changed of the file, if anything. Of a very long text the middle is left
 * out. */
static struct lb_box draw_changes(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                                  struct lb_box box) {
  const double most_lines = 4, fill = 0.75; /* [1]; how full lines are at least */
  const struct lb_lettering lettering = {.size = LB_LETTERS_SMALL};
  const double width = box.right - box.left;
  struct lb_text text = {0}, shorter = {0};
  if (!*sheet->changes)
    return box;
  lb_text_add(&text, "Changed: %s", sheet->changes);
  if (!text.failed && lb_sheet_height(width, LB_LETTERS_SMALL, text.bytes) >
                          (most_lines + fill) * line_pitch * LB_LETTERS_SMALL) {
    shorten_to(&shorter, &lettering, fill * most_lines * width, text.bytes);
    lb_text_free(&text);
    lb_text_add(&text, "%s", shorter.failed ? "" : shorter.bytes);
  }
  drawing->failed |= text.failed || shorter.failed;
  if (!text.failed)
    box = lb_sheet_write(drawing, box, LB_LETTERS_SMALL, text.bytes);
  lb_text_free(&text);
  lb_text_free(&shorter);
  return box;
}

/* Returns the room below the heading. */
static struct lb_box draw_heading(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                                  const char *title, struct lb_box box) {
  const double right_column = 52, between = 4, below = 2; /* [mm] */
  struct lb_text text = {0};
  struct lb_cutoff_page page = lb_page_begin(sheet->paper, sheet->inch, true, &text);
  draw_title(drawing, sheet, title, box);
  box.top -= line_pitch * LB_LETTERS_TITLE;
  struct lb_box left = box, right = box;
  left.right = box.right - right_column - between;
  right.left = box.right - right_column;
  left = draw_machine(drawing, &page, left);
  right = draw_origin(drawing, sheet, right);
  box.top = fmin(left.top, right.top);
  box = draw_changes(drawing, sheet, box);
  box.top -= below / 2;
  lb_drawing_line(drawing, &lb_pen_normal, (struct lb_point){box.left, box.top},
                  (struct lb_point){box.right, box.top});
  box.top -= below;
  return box;
}

/* Returns the room above the foot. */
static struct lb_box draw_foot(struct lb_drawing *drawing, const char *title, struct lb_box box) {
  const double right_column = 40, between = 4, above = 1; /* [mm] */
  const struct lb_lettering lettering = {.size = LB_LETTERS_SMALL, .align = LB_ALIGN_RIGHT};
  const double pitch = line_pitch * LB_LETTERS_SMALL;
  struct lb_box foot = box;
  char number[32];
  foot.right -= right_column + between;
  foot.top =
      box.bottom +
      fmax(lb_sheet_height(foot.right - foot.left, LB_LETTERS_SMALL, lb_page_cautions), 2 * pitch);
  lb_sheet_write(drawing, foot, LB_LETTERS_SMALL, lb_page_cautions);
  lb_format(number, sizeof number, "page %zu", drawing->pages);
  struct lb_point at = {box.right, foot.top - line_ascent * LB_LETTERS_SMALL};
  lb_sheet_text(drawing, &lettering, at, right_column, title);
  lb_sheet_text(drawing, &lettering, (struct lb_point){at.x, at.y - pitch}, right_column, number);
  box.bottom = foot.top + above;
  lb_drawing_line(drawing, &lb_pen_fine, (struct lb_point){box.left, box.bottom},
                  (struct lb_point){box.right, box.bottom});
  box.bottom += above;
  return box;
}

struct lb_box lb_sheet_begin(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                             const char *title) {
  double width, height;
  lb_sheet_paper(&width, &height, sheet->size);
  lb_drawing_page(drawing, title, width, height);
  struct lb_box box = {LB_SHEET_MARGIN, LB_SHEET_MARGIN, width - LB_SHEET_MARGIN,
                       height - LB_SHEET_MARGIN};
  box = draw_foot(drawing, title, box);
  return draw_heading(drawing, sheet, title, box);
}
