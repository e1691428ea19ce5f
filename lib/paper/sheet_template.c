/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Templates in true size.
 *
 * What is to have its true size is drawn in a view whose scale makes up for the printer: where a
 * bar of 100 mm came out 97.2 mm long, 1 mm is drawn 100/97.2 mm long. A template too large for the
 * paper is cut into tiles, row by row from the top left; neighbours show the strip between them
 * both, and the same crosses in it:
 *
 *   |   tile 1        +|
 *                  |+  | tile 2 ...
 *                  overlap
 */
#include "paper/sheet.h"

#include "base/format.h"
#include "paper/drawing_letters.h"
#include "paper/table_write.h"
#include "paper/text.h"

#include <inttypes.h>
#include <math.h>

/* [mm] on paper, whatever the correction. */
static const double overlap = 10, between = 2;

/* Strips kept free of the template [mm]: below it for the bar in x, the inch and what to do, on its
 * right for the bar in y and the key to the tiles. */
static const double strip_below = 23.5, strip_right = 16;

/* A page's part of a template. */
struct tile {
  const struct lb_template *piece;
  double scale_x, scale_y; /* [1] */
  struct lb_box area;      /* [mm] of the page that shows it */
  int columns, rows;       /* how many parts there are */
  int column, row;         /* which this is; 0, 0 is at the top left */
};

static double width_of(struct lb_box box) {
  return box.right - box.left;
}

static double height_of(struct lb_box box) {
  return box.top - box.bottom;
}

/* What is drawn as a bar: how long it is and from tick to tick [mm], what its numbers count in
 * [mm], and what the last says. */
struct bar {
  double length, step, unit;
  const char *last;
};

/* A bar from the view's origin along x, its ticks and numbers below. */
static void draw_bar_across(struct lb_drawing *drawing, const struct bar *bar) {
  const double tick = 2, number = 4.2; /* [mm] down to the middle of the numbers */
  const struct lb_lettering lettering = {.size = LB_LETTERS_SMALL, .align = LB_ALIGN_MIDDLE};
  const int steps = (int)lround(bar->length / bar->step);
  lb_drawing_line(drawing, &lb_pen_normal, (struct lb_point){0, 0},
                  (struct lb_point){bar->length, 0});
  for (int i = 0; i <= steps; i++) {
    char text[16];
    double x = bar->length * i / steps;
    lb_format(text, sizeof text, "%g", x / bar->unit);
    lb_drawing_line(drawing, &lb_pen_fine, (struct lb_point){x, 0}, (struct lb_point){x, -tick});
    lb_drawing_text(drawing, &lettering, (struct lb_point){x, -number},
                    i == steps ? bar->last : text);
  }
}

/* The same along y, its ticks and numbers on the right. */
static void draw_bar_up(struct lb_drawing *drawing, const struct bar *bar) {
  const double tick = 2, number = 2.8; /* [mm] to where the numbers begin */
  const struct lb_lettering lettering = {.size = LB_LETTERS_SMALL};
  const double lower = LB_LETTER_CAPITAL / 2 * LB_LETTERS_SMALL;
  const int steps = (int)lround(bar->length / bar->step);
  lb_drawing_line(drawing, &lb_pen_normal, (struct lb_point){0, 0},
                  (struct lb_point){0, bar->length});
  for (int i = 0; i <= steps; i++) {
    char text[16];
    double y = bar->length * i / steps;
    lb_format(text, sizeof text, "%g", y / bar->unit);
    lb_drawing_line(drawing, &lb_pen_fine, (struct lb_point){0, y}, (struct lb_point){tick, y});
    lb_drawing_text(drawing, &lettering, (struct lb_point){number, y - lower},
                    i == steps ? bar->last : text);
  }
}

/* Begin a view in true size. */
static void begin_view(struct lb_drawing *drawing, const struct tile *tile, struct lb_point origin,
                       struct lb_box window) {
  const struct lb_view view = {origin, tile->scale_x, tile->scale_y, window};
  lb_drawing_view(drawing, &view);
}

/* The bars, in the strips of a page's room. */
static void draw_bars(struct lb_drawing *drawing, const struct tile *tile, struct lb_box room) {
  static const double inch = 25.4, below_template = 2.5, apart = 15; /* [mm] */
  static const struct bar millimetres = {LB_SHEET_BAR, 10, 1, "100 mm"},
                          inches = {inch, inch / 2, inch, "1 inch"};
  const double inset = 3; /* [mm] for half the first number */
  struct lb_point origin = {room.left + inset, room.bottom + strip_below - below_template};
  begin_view(drawing, tile, origin, room);
  draw_bar_across(drawing, &millimetres);
  origin.x += tile->scale_x * millimetres.length + apart;
  begin_view(drawing, tile, origin, room);
  draw_bar_across(drawing, &inches);
  origin = (struct lb_point){room.right - strip_right + between, room.bottom + strip_below};
  begin_view(drawing, tile, origin, room);
  draw_bar_up(drawing, &millimetres);
  lb_drawing_page_view(drawing);
}

/* What to do with the bars, and with the tiles. */
static void write_instructions(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                               const struct tile *tile, struct lb_box room) {
  const double below_bars = 9.2; /* [mm] */
  struct lb_box box = {room.left, room.bottom, room.right, room.bottom + strip_below - below_bars};
  struct lb_text text = {0};
  lb_text_add(&text, "Print at actual size (100 %%). ");
  if (tile->scale_x == 1 && tile->scale_y == 1)
    lb_text_add(&text, "Bars not 100 mm long? Say --print-correction ACROSS,UP as measured.\n");
  else
    lb_text_add(&text, "Corrected for a printer whose bars measured %.4g x %.4g mm.\n",
                sheet->measured[0], sheet->measured[1]);
  if (tile->columns * tile->rows > 1)
    lb_text_add(&text,
                "row %d of %d, column %d of %d\n"
                "Neighbouring sheets overlap by %g mm: lay cross on cross.",
                tile->row + 1, tile->rows, tile->column + 1, tile->columns, overlap);
  drawing->failed |= text.failed;
  if (!text.failed)
    lb_sheet_write(drawing, box, LB_LETTERS_SMALL, text.bytes);
  lb_text_free(&text);
}

/* Crosses in the corners of the strips that this tile shares with its neighbours. */
static void draw_crosses(struct lb_drawing *drawing, const struct tile *tile) {
  const double arm = 4; /* [mm] */
  const struct lb_box *area = &tile->area;
  const double x[] = {area->left + overlap / 2, area->right - overlap / 2};
  const double y[] = {area->bottom + overlap / 2, area->top - overlap / 2};
  const bool joins_x[] = {tile->column > 0, tile->column < tile->columns - 1};
  const bool joins_y[] = {tile->row<tile->rows - 1, tile->row> 0};
  for (int i = 0; i < 2; i++)
    for (int j = 0; j < 2; j++)
      if (joins_x[i] || joins_y[j]) {
        lb_drawing_line(drawing, &lb_pen_fine, (struct lb_point){x[i] - arm, y[j]},
                        (struct lb_point){x[i] + arm, y[j]});
        lb_drawing_line(drawing, &lb_pen_fine, (struct lb_point){x[i], y[j] - arm},
                        (struct lb_point){x[i], y[j] + arm});
      }
}

static void draw_rectangle(struct lb_drawing *drawing, struct lb_box box, bool shaded) {
  const double shade = 0.6; /* [1] */
  const struct lb_point corner[] = {
      {box.left, box.bottom}, {box.right, box.bottom}, {box.right, box.top}, {box.left, box.top}};
  const size_t corners = sizeof corner / sizeof corner[0];
  if (shaded)
    lb_drawing_area(drawing, shade, corner, corners);
  lb_drawing_polyline(drawing, &lb_pen_fine, corner, corners, true);
}

/* Where this sheet lies among the others: at the top of the strip on the right. */
static void draw_key(struct lb_drawing *drawing, const struct tile *tile, struct lb_box room) {
  const double largest = 6, highest = 60; /* [mm] */
  double size = fmin(fmin(largest, (strip_right - between) / tile->columns), highest / tile->rows);
  for (int row = 0; row < tile->rows; row++)
    for (int column = 0; column < tile->columns; column++) {
      struct lb_box cell = {.left = room.right - (tile->columns - column) * size,
                            .top = room.top - between - row * size};
      cell.right = cell.left + size;
      cell.bottom = cell.top - size;
      draw_rectangle(drawing, cell, row == tile->row && column == tile->column);
    }
}

/* How many parts of a length show a whole, neighbours overlapping. */
static int parts(double whole, double part) {
  return whole > part ? (int)ceil((whole - overlap) / (part - overlap)) : 1;
}

/* How a template is cut up on a page with such a room. */
static struct tile cut_up(const struct lb_sheet *sheet, const struct lb_template *piece,
                          struct lb_box room) {
  struct tile tile = {.piece = piece,
                      .scale_x = LB_SHEET_BAR / sheet->measured[0],
                      .scale_y = LB_SHEET_BAR / sheet->measured[1],
                      .area = room};
  tile.area.right -= strip_right;
  tile.area.bottom += strip_below;
  tile.columns = parts(tile.scale_x * width_of(piece->extent), width_of(tile.area));
  tile.rows = parts(tile.scale_y * height_of(piece->extent), height_of(tile.area));
  return tile;
}

/* The part itself. A template of one column stands in the middle of the page, one of one row at its
 * top. */
static void draw_part(struct lb_drawing *drawing, const struct tile *tile) {
  const struct lb_template *piece = tile->piece;
  double width = tile->scale_x * width_of(piece->extent), area_width = width_of(tile->area);
  double inset = tile->columns == 1 ? (area_width - width) / 2 : 0;
  double left = tile->area.left + inset - tile->column * (area_width - overlap);
  double top = tile->area.top + tile->row * (height_of(tile->area) - overlap);
  struct lb_point origin = {left - tile->scale_x * piece->extent.left,
                            top - tile->scale_y * piece->extent.top};
  begin_view(drawing, tile, origin, tile->area);
  piece->draw(drawing, piece->context);
  lb_drawing_page_view(drawing);
}

static void draw_tile(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                      const struct tile *tile, struct lb_box room) {
  draw_part(drawing, tile);
  draw_bars(drawing, tile, room);
  write_instructions(drawing, sheet, tile, room);
  if (tile->columns * tile->rows == 1)
    return;
  draw_rectangle(drawing, tile->area, false);
  draw_crosses(drawing, tile);
  draw_key(drawing, tile, room);
}

/* The note, below the template on its last page or, where it does not fit there, on a page of its
 * own. */
static void draw_note(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                      const struct tile *tile) {
  const struct lb_template *piece = tile->piece;
  struct lb_box box = tile->area;
  box.top += (tile->rows - 1) * (height_of(tile->area) - overlap) -
             tile->scale_y * height_of(piece->extent) - between;
  if (tile->columns * tile->rows > 1) { /* clear of the crosses */
    box.left += overlap;
    box.bottom += overlap;
  }
  bool fits = height_of(box) >= lb_sheet_height(width_of(box), LB_LETTERS_SMALL, piece->note);
  if (!fits)
    box = lb_sheet_begin(drawing, sheet, piece->title);
  lb_sheet_write(drawing, box, fits ? LB_LETTERS_SMALL : LB_LETTERS_NORMAL, piece->note);
}

/* A page of the template alone, with its title and what it was made from below. */
static void draw_for_cutting(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                             const struct lb_template *piece) {
  const double border = 5, least_width = 100; /* [mm] */
  const double width = fmax(width_of(piece->extent), least_width);
  struct lb_text text = {0};
  lb_text_add(&text, "%s: %s (%s)\nall lengths in mm\nlastbar %s\n%s\nCRC-32 %08" PRIx32,
              sheet->paper->machine->name, piece->title, lb_sheet_rule(sheet),
              lb_table_write_version(), sheet->file, sheet->checksum);
  if (*sheet->changes)
    lb_text_add(&text, "\nchanged: %s", sheet->changes);
  drawing->failed |= text.failed;
  const char *words = text.failed ? "" : text.bytes;
  double below = lb_sheet_height(width, LB_LETTERS_NORMAL, words) + border;
  struct lb_box page = {0, 0, width + 2 * border, height_of(piece->extent) + below + 2 * border};
  struct lb_box box = {border, border, border + width, below};
  lb_drawing_page(drawing, piece->title, page.right, page.top);
  lb_drawing_view(
      drawing,
      &(struct lb_view){
          {border - piece->extent.left, below + border - piece->extent.bottom}, 1, 1, page});
  piece->draw(drawing, piece->context);
  lb_drawing_page_view(drawing);
  lb_sheet_write(drawing, box, LB_LETTERS_NORMAL, words);
  lb_text_free(&text);
}

void lb_sheet_measure(struct lb_drawing *drawing, struct lb_template *piece) {
  const double far = 1e5, border = 2; /* [mm] */
  const struct lb_view everything = {{0, 0}, 1, 1, {-far, -far, far, far}};
  struct lb_drawing trial = {0};
  struct lb_box box = {far, far, -far, -far};
  lb_drawing_page(&trial, piece->title, far, far);
  lb_drawing_view(&trial, &everything);
  piece->draw(&trial, piece->context);
  for (size_t i = 0; i < trial.shapes; i++) {
    struct lb_box own = lb_drawing_box(&trial, &trial.shape[i]);
    box = (struct lb_box){fmin(box.left, own.left), fmin(box.bottom, own.bottom),
                          fmax(box.right, own.right), fmax(box.top, own.top)};
  }
  piece->extent =
      (struct lb_box){box.left - border, box.bottom - border, box.right + border, box.top + border};
  drawing->failed |= trial.failed;
  drawing->strange |= trial.strange;
  lb_drawing_free(&trial);
}

void lb_sheet_template(struct lb_drawing *drawing, const struct lb_sheet *sheet,
                       const struct lb_template *piece) {
  if (sheet->cutting) {
    draw_for_cutting(drawing, sheet, piece);
    return;
  }
  struct lb_box room = lb_sheet_begin(drawing, sheet, piece->title);
  struct tile tile = cut_up(sheet, piece, room);
  for (tile.row = 0; tile.row < tile.rows; tile.row++)
    for (tile.column = 0; tile.column < tile.columns; tile.column++) {
      if (tile.row + tile.column > 0)
        lb_sheet_begin(drawing, sheet, piece->title);
      draw_tile(drawing, sheet, &tile, room);
    }
  if (piece->note)
    draw_note(drawing, sheet, &tile);
}
