/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What all sheets share: directions against a disc that is really turned, texts and tables that
 * keep to their room, headings of strange machines, bars and tiles in true size. The probes that
 * all tests of sheets use are shown to see what they look for.
 */
#include "paper/sheet.h"

#include "base/constants.h"
#include "drawing_probe.h"
#include "random_machine.h"
#include "sheet_maker.h"
#include "support.h"

#include <stdio.h>
#include <string.h>

static const double degree = LB_PI / 180;

/* A page of its own for a piece of a sheet. */
static const struct lb_box page = {0, 0, 200, 200};

static struct lb_drawing blank(void) {
  struct lb_drawing drawing = {0};
  lb_drawing_page(&drawing, "blank", page.right, page.top);
  return drawing;
}

static struct lb_point at(double x, double y) {
  return (struct lb_point){x, y};
}

static void put(struct lb_drawing *drawing, double x, double y, double turn, const char *text) {
  const struct lb_lettering lettering = {.size = 10, .align = LB_ALIGN_MIDDLE, .turn = turn};
  lb_drawing_text(drawing, &lettering, at(x, y), text);
}

/* Two bars of text beside each other, turned alike: their upright boxes overlap, they do not. */
START_TEST(probe_sees_turned_texts) {
  struct lb_drawing drawing = blank();
  put(&drawing, 100, 100, 45 * degree, "a longish text");
  put(&drawing, 112, 92, 45 * degree, "a longish text");
  put(&drawing, 100, 104, 45 * degree, "a longish text");
  put(&drawing, 103, 100, 135 * degree, "crosses");
  ck_assert(!probe_overlap(&drawing, &drawing.shape[0], &drawing.shape[1]));
  ck_assert(probe_overlap(&drawing, &drawing.shape[0], &drawing.shape[2]));
  ck_assert(probe_overlap(&drawing, &drawing.shape[0], &drawing.shape[3]));
  ck_assert(probe_overlap(&drawing, &drawing.shape[3], &drawing.shape[0]));
  lb_drawing_free(&drawing);
}
END_TEST

/* What a window hides does not overlap. */
START_TEST(probe_sees_what_a_view_shows) {
  struct lb_drawing drawing = blank();
  put(&drawing, 50, 50, 0, "page");
  lb_drawing_view(&drawing, &(struct lb_view){{0, 0}, 1, 1, {0, 60, 200, 200}});
  put(&drawing, 50, 50, 0, "hidden");
  lb_drawing_view(&drawing, &(struct lb_view){{0, 0}, 1, 1, {0, 50, 200, 200}});
  put(&drawing, 50, 50, 0, "half");
  ck_assert(!probe_overlap(&drawing, &drawing.shape[0], &drawing.shape[1]));
  ck_assert(probe_overlap(&drawing, &drawing.shape[0], &drawing.shape[2]));
  lb_drawing_free(&drawing);
}
END_TEST

START_TEST(papers_are_upright) {
  static const double sizes[LB_PAPER_SIZES][2] = {{210, 297}, {297, 420}, {8.5 * 25.4, 11 * 25.4}};
  for (int i = 0; i < LB_PAPER_SIZES; i++) {
    double width, height;
    lb_sheet_paper(&width, &height, (enum lb_paper_size)i);
    ck_close(width, sizes[i][0], EXACT * 300);
    ck_close(height, sizes[i][1], EXACT * 300);
  }
}
END_TEST

/* The same direction, whole turns apart. */
static void require_same(double one, double other) {
  ck_close(remainder(one - other, 2 * LB_PI), 0, IDENTITY);
}

START_TEST(crank_stands_where_it_is_seen) {
  struct lb_machine machine = {.clockwise = true};
  require_same(lb_sheet_direction(&machine, 0), 90 * degree);
  require_same(lb_sheet_direction(&machine, 90 * degree), 0);
  machine.clockwise = false;
  require_same(lb_sheet_direction(&machine, 0), 90 * degree);
  require_same(lb_sheet_direction(&machine, 90 * degree), 180 * degree);
}
END_TEST

/* A disc's point, turned with the crank, arrives at the place. */
START_TEST(turned_template_shows_at_the_place) {
  uint64_t state = 1;
  for (int i = 0; i < 100; i++) {
    struct lb_machine machine = {.clockwise = i % 2};
    double place = support_between(&state, -7, 7), crank = support_between(&state, -7, 7);
    double on_disc = lb_sheet_template_direction(&machine, place, crank);
    double turned = on_disc + (machine.clockwise ? -crank : crank);
    require_same(turned, 90 * degree + (machine.clockwise ? -place : place));
  }
}
END_TEST

START_TEST(arcs_go_the_way_of_the_crank) {
  double from = 1, to = 2;
  lb_sheet_order(&from, &to, false);
  ck_assert(from == 1 && to == 2);
  lb_sheet_order(&from, &to, true);
  ck_assert(from == 2 && to == 1);
  struct lb_point p = lb_sheet_polar(at(1, 2), 10, 90 * degree);
  ck_close(p.x, 1, IDENTITY * 10);
  ck_close(p.y, 12, IDENTITY * 10);
}
END_TEST

static double width_of(const struct lb_drawing *drawing, const struct lb_shape *shape) {
  return lb_drawing_text_width(&shape->lettering, probe_letters(drawing, shape));
}

START_TEST(text_keeps_to_its_width) {
  static const char long_text[] = "a text that begins here and goes on and on until its very end";
  const struct lb_lettering lettering = {.size = LB_LETTERS_NORMAL};
  double whole = lb_drawing_text_width(&lettering, long_text);
  for (double width = 5; width < whole + 5; width += 0.5) {
    struct lb_drawing drawing = blank();
    lb_sheet_text(&drawing, &lettering, at(0, 0), width, long_text);
    ck_assert_uint_eq(drawing.shapes, 1);
    const struct lb_shape *shape = &drawing.shape[0];
    const char *letters = probe_letters(&drawing, shape);
    bool smaller = shape->lettering.size < LB_LETTERS_NORMAL;
    ck_assert(width_of(&drawing, shape) <= width + 1e-6);
    ck_assert(smaller == (width < whole));
    if (strcmp(letters, long_text) == 0) {
      lb_drawing_free(&drawing);
      continue;
    }
    /* shortened: only when the smallest letters do not do, and not by a letter more than needed */
    const char *dots = strstr(letters, "...");
    size_t tail = strlen(dots + 3);
    ck_assert(shape->lettering.size == LB_LETTERS_SMALL);
    ck_assert(strncmp(letters, long_text, (size_t)(dots - letters)) == 0);
    ck_assert(strcmp(dots + 3, long_text + strlen(long_text) - tail) == 0);
    ck_assert(width_of(&drawing, shape) > width - LB_LETTERS_SMALL);
    lb_drawing_free(&drawing);
  }
}
END_TEST

/* Letters that a person asked to be small stay as they are, and letters are never cut in two. */
START_TEST(text_is_cut_between_letters) {
  const struct lb_lettering lettering = {.size = LB_LETTERS_SMALL};
  struct lb_drawing drawing = blank();
  lb_sheet_text(&drawing, &lettering, at(0, 0), 20,
                "\303\266\303\266\303\266\303\266\303\266\303"
                "\266\303\266\303\266\303\266\303\266\303\266");
  const char *letters = probe_letters(&drawing, &drawing.shape[0]);
  ck_assert_ptr_nonnull(strstr(letters, "\303\266...\303\266"));
  ck_assert_ptr_null(strstr(letters, "\357\277\275"));
  ck_assert(drawing.shape[0].lettering.size == LB_LETTERS_SMALL);
  lb_drawing_free(&drawing);
  drawing = blank();
  lb_sheet_text(&drawing, &lettering, at(0, 0), 1, "no room for anything");
  ck_assert_uint_eq(drawing.shapes, 0);
  lb_drawing_free(&drawing);
}
END_TEST

START_TEST(lines_are_broken_at_blanks) {
  static const char text[] = "Words that are to be broken into lines, and\na second line that is "
                             "long enough to be broken too.";
  for (double width = 20; width < 150; width += 3) {
    struct lb_drawing drawing = blank();
    struct lb_box box = {10, 10, 10 + width, 190};
    struct lb_box left = lb_sheet_write(&drawing, box, LB_LETTERS_NORMAL, text);
    char whole[200] = "";
    for (size_t i = 0; i < drawing.shapes; i++) {
      const struct lb_shape *line = &drawing.shape[i];
      struct lb_point corner[4];
      lb_drawing_text_corners(corner, &drawing, line);
      ck_assert(corner[0].x >= box.left - 1e-9 && corner[1].x <= box.right + 1e-6);
      ck_assert(corner[2].y <= box.top + 1e-9 && corner[0].y >= left.top - 1e-9);
      snprintf(whole + strlen(whole), sizeof whole - strlen(whole), "%s%s", i ? " " : "",
               probe_letters(&drawing, line));
    }
    ck_assert(strncmp(whole, text, 43) == 0);
    ck_assert_str_eq(whole + 44, text + 44);
    ck_close(box.top - left.top, lb_sheet_height(width, LB_LETTERS_NORMAL, text), 1e-9);
    ck_assert(left.left == box.left && left.right == box.right && left.bottom == box.bottom);
    probe_no_overlapping_texts(&drawing);
    lb_drawing_free(&drawing);
  }
}
END_TEST

START_TEST(lines_below_the_box_are_left_out) {
  struct lb_drawing drawing = blank();
  double two = lb_sheet_height(100, LB_LETTERS_NORMAL, "one\ntwo");
  struct lb_box left = lb_sheet_write(&drawing, (struct lb_box){0, 0, 100, two}, LB_LETTERS_NORMAL,
                                      "one\ntwo\nthree");
  ck_assert_uint_eq(drawing.shapes, 2);
  ck_close(left.top, 0, 1e-9);
  lb_drawing_free(&drawing);
}
END_TEST

/* Columns 30, 20 and 40 mm wide from x = 10 on. */
static const double columns[] = {30, 20, 40};
static const char *const cells[] = {"event",
                                    "angle\n[deg]",
                                    "what it is good for",
                                    "inlet",
                                    "-3.0",
                                    "a",
                                    "cut-off",
                                    "78.0",
                                    "a text far too long for a narrow column of a table",
                                    "final",
                                    "-",
                                    "c"};

START_TEST(table_keeps_to_its_columns) {
  static const char *const texts[] = {
      "event", "angle", "[deg]", "what it is good for", "inlet", "-3.0", "a", "cut-off", "78.0"};
  struct lb_drawing drawing = blank();
  const struct lb_box box = {10, 10, 190, 190};
  struct lb_box left = lb_sheet_table(&drawing, box, LB_LETTERS_NORMAL, cells, 4, 3, columns);
  for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
    ck_assert_msg(probe_find(&drawing, 0, texts[i]) != NULL, "%s", texts[i]);
  for (size_t i = 0; i < drawing.shapes; i++) {
    const struct lb_shape *shape = &drawing.shape[i];
    struct lb_point corner[4];
    if (shape->kind != LB_SHAPE_TEXT)
      continue;
    lb_drawing_text_corners(corner, &drawing, shape);
    double start = 10;
    for (int column = 0; column < 3; column++) {
      bool in = corner[0].x > start && corner[0].x < start + columns[column];
      ck_assert(!in || corner[1].x < start + columns[column]);
      start += columns[column];
    }
    ck_assert(corner[2].y < box.top && corner[0].y > left.top);
  }
  probe_no_overlapping_texts(&drawing);
  probe_readable_texts(&drawing);
  lb_drawing_free(&drawing);
}
END_TEST

/* Figures end at one edge, texts begin at one. */
START_TEST(figures_are_on_the_right) {
  struct lb_drawing drawing = blank();
  lb_sheet_table(&drawing, page, LB_LETTERS_NORMAL, cells, 4, 3, columns);
  static const char *const figures[] = {"angle", "[deg]", "-3.0", "78.0"};
  for (size_t i = 0; i < sizeof figures / sizeof figures[0]; i++) {
    const struct lb_shape *shape = probe_find(&drawing, 0, figures[i]);
    ck_assert_int_eq(shape->lettering.align, LB_ALIGN_RIGHT);
    ck_close(shape->at.x, probe_find(&drawing, 0, "78.0")->at.x, 0);
  }
  ck_assert_int_eq(probe_find(&drawing, 0, "inlet")->lettering.align, LB_ALIGN_LEFT);
  ck_assert_int_eq(probe_find(&drawing, 0, "what it")->lettering.align, LB_ALIGN_LEFT);
  ck_close(probe_find(&drawing, 0, "inlet")->at.x, probe_find(&drawing, 0, "event")->at.x, 0);
  ck_assert(probe_find(&drawing, 0, "event")->lettering.bold);
  ck_assert(!probe_find(&drawing, 0, "inlet")->lettering.bold);
  lb_drawing_free(&drawing);
}
END_TEST

START_TEST(rows_below_the_box_are_left_out) {
  struct lb_drawing drawing = blank(), whole = blank();
  struct lb_box all = lb_sheet_table(&whole, page, LB_LETTERS_NORMAL, cells, 4, 3, columns);
  struct lb_box box = {10, all.top + 1, 190, page.top};
  struct lb_box left = lb_sheet_table(&drawing, box, LB_LETTERS_NORMAL, cells, 4, 3, columns);
  ck_assert(left.top >= box.bottom);
  ck_assert_ptr_nonnull(probe_find(&drawing, 0, "cut-off"));
  ck_assert_ptr_null(probe_find(&drawing, 0, "final"));
  ck_assert_ptr_nonnull(probe_find(&whole, 0, "final"));
  lb_drawing_free(&drawing);
  lb_drawing_free(&whole);
}
END_TEST

static struct lb_machine some_machine(uint64_t seed) {
  struct lb_machine machine;
  random_machine(&machine, &seed);
  return machine;
}

START_TEST(heading_says_what_a_sheet_was_made_from) {
  static const char *const texts[] = {"Little engine: Timing (as timed in the file)",
                                      "Supply ",
                                      "Surroundings ",
                                      "Slow cycle",
                                      "machine.ini",
                                      "CRC-32 0123abcd",
                                      "lastbar ",
                                      "Changed: supply.pressure=4 bar gauge",
                                      "A crank under air starts by itself",
                                      "page 1"};
  struct lb_machine machine = some_machine(7);
  struct sheet_maker maker;
  strcpy(machine.name, "Little engine");
  ck_assert(sheet_maker_begin(&maker, &machine));
  maker.sheet.changes = "supply.pressure=4 bar gauge";
  struct lb_drawing drawing = {0};
  struct lb_box room = lb_sheet_begin(&drawing, &maker.sheet, "Timing");
  for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
    ck_assert_msg(probe_find(&drawing, 0, texts[i]) != NULL, "%s", texts[i]);
  ck_assert_str_eq(drawing.page[0].name, "Timing");
  ck_assert(room.left == LB_SHEET_MARGIN && room.right == 210 - LB_SHEET_MARGIN);
  lb_sheet_begin(&drawing, &maker.sheet, "Torque");
  ck_assert_ptr_nonnull(probe_find(&drawing, 1, "page 2"));
  ck_assert_ptr_null(probe_find(&drawing, 1, "page 1"));
  probe_sheet(&drawing);
  lb_drawing_free(&drawing);
  sheet_maker_end(&maker);
}
END_TEST

START_TEST(title_names_the_rule) {
  struct lb_machine machine = some_machine(7);
  struct sheet_maker maker;
  ck_assert(sheet_maker_begin_rule(&maker, &machine, LB_ECONOMY));
  ck_assert_str_eq(lb_sheet_rule(&maker.sheet), "best economy");
  sheet_maker_end(&maker);
  ck_assert(sheet_maker_begin(&maker, &machine));
  ck_assert_str_eq(lb_sheet_rule(&maker.sheet), "as timed in the file");
  maker.paper.rule = LB_COMMON_ECONOMY;
  ck_assert_str_eq(lb_sheet_rule(&maker.sheet), "best economy, one angle for both ends");
  maker.paper.rule = LB_COMMON_ATMOSPHERIC;
  ck_assert_str_eq(lb_sheet_rule(&maker.sheet), "one angle for both ends, the later of the two");
  maker.paper.rule = LB_AS_TIMED;
  maker.machine.timing[LB_CAP_END].cutoff_given = maker.machine.timing[LB_ROD_END].cutoff_given =
      false;
  maker.machine.back_pressure = maker.machine.ambient_pressure;
  ck_assert_str_eq(lb_sheet_rule(&maker.sheet), "atmospheric release");
  sheet_maker_end(&maker);
}
END_TEST

/* The longest names there are, of letters of every width, on every paper. */
START_TEST(long_names_stay_on_the_sheet) {
  static const char *const pieces[] = {"W", "i", "\343\202\242", "e\314\201", "word ", "\303\204"};
  for (size_t i = 0; i < sizeof pieces / sizeof pieces[0]; i++)
    for (int size = 0; size < LB_PAPER_SIZES; size++) {
      struct lb_machine machine = some_machine(11 + i);
      char file[3000] = "", changes[9000] = "";
      machine.name[0] = '\0';
      while (strlen(machine.name) + strlen(pieces[i]) < sizeof machine.name)
        strcat(machine.name, pieces[i]);
      for (int k = 0; k < 500; k++)
        strcat(file, pieces[i]);
      for (int k = 0; k < 400; k++)
        strcat(strcat(changes, pieces[i]), k % 5 ? "=1" : "; ");
      struct sheet_maker maker;
      ck_assert(sheet_maker_begin(&maker, &machine));
      maker.sheet.file = file;
      maker.sheet.changes = changes;
      maker.sheet.size = (enum lb_paper_size)size;
      struct lb_drawing drawing = {0};
      struct lb_box room = lb_sheet_begin(&drawing, &maker.sheet, "Timing");
      ck_assert_ptr_nonnull(probe_find(&drawing, 0, ": Timing (as timed in the file)"));
      ck_assert_ptr_nonnull(probe_find(&drawing, 0, "CRC-32 0123abcd"));
      ck_assert(room.top - room.bottom > 200);
      probe_sheet(&drawing);
      lb_drawing_free(&drawing);
      sheet_maker_end(&maker);
    }
}
END_TEST

/* A template that fills its extent: a circle and a cross, or nothing but its size. */
static void draw_something(struct lb_drawing *drawing, const void *context) {
  const struct lb_box *box = context;
  lb_drawing_line(drawing, &lb_pen_cut, at(box->left, box->bottom), at(box->right, box->top));
  lb_drawing_line(drawing, &lb_pen_cut, at(box->left, box->top), at(box->right, box->bottom));
}

static struct lb_template something(const struct lb_box *box, const char *note) {
  return (struct lb_template){"Something", note, *box, draw_something, box};
}

/* How many lines of a page are seen in a view, and as long as this when measured with a rule on a
 * paper whose printer is out as the sheet says. */
static int count_bars(const struct lb_drawing *drawing, size_t number, const struct lb_sheet *sheet,
                      double x, double y) {
  const struct lb_page *p = &drawing->page[number];
  int count = 0;
  for (size_t i = p->first; i < p->first + p->shapes; i++) {
    const struct lb_shape *shape = &drawing->shape[i];
    if (shape->kind != LB_SHAPE_LINE || shape->view == p->view || shape->pen.layer != LB_LAYER_MARK)
      continue;
    struct lb_point from = probe_seen(drawing, shape, shape->at);
    struct lb_point to = probe_seen(drawing, shape, shape->to);
    double printed_x = (to.x - from.x) * sheet->measured[0] / 100;
    double printed_y = (to.y - from.y) * sheet->measured[1] / 100;
    count += fabs(fabs(printed_x) - x) < 1e-9 && fabs(fabs(printed_y) - y) < 1e-9;
  }
  return count;
}

static const double corrections[][2] = {{100, 100}, {97.2, 97.5}, {103, 99}, {80, 120}};

START_TEST(bars_are_true_on_every_page) {
  const struct lb_box boxes[] = {{-60, -60, 60, 60}, {-300, -250, 200, 250}};
  struct lb_machine machine = some_machine(3);
  struct sheet_maker maker;
  ck_assert(sheet_maker_begin(&maker, &machine));
  for (size_t i = 0; i < sizeof corrections / sizeof corrections[0]; i++)
    for (int k = 0; k < 2 * LB_PAPER_SIZES; k++) {
      struct lb_template template = something(&boxes[k % 2], NULL);
      struct lb_drawing drawing = {0};
      maker.sheet.size = (enum lb_paper_size)(k / 2);
      maker.sheet.measured[0] = corrections[i][0];
      maker.sheet.measured[1] = corrections[i][1];
      lb_sheet_template(&drawing, &maker.sheet, &template);
      ck_assert_uint_ge(drawing.pages, k % 2 ? 4 : 1);
      for (size_t number = 0; number < drawing.pages; number++) {
        ck_assert_int_eq(count_bars(&drawing, number, &maker.sheet, 100, 0), 1);
        ck_assert_int_eq(count_bars(&drawing, number, &maker.sheet, 0, 100), 1);
        ck_assert_int_eq(count_bars(&drawing, number, &maker.sheet, 25.4, 0), 1);
        ck_assert_ptr_nonnull(probe_find(&drawing, number, "Print at actual size (100 %)"));
        const struct lb_shape *told = probe_find(
            &drawing, number, "Corrected for a printer whose bars measured 97.2 x 97.5 mm");
        ck_assert((told != NULL) == (i == 1));
      }
      probe_sheet(&drawing);
      lb_drawing_free(&drawing);
    }
  sheet_maker_end(&maker);
}
END_TEST

/* The view through which a page shows the template: that of its first line on the layer of cuts. */
static const struct lb_view *view_of(const struct lb_drawing *drawing, size_t number) {
  const struct lb_page *p = &drawing->page[number];
  for (size_t i = p->first; i < p->first + p->shapes; i++)
    if (drawing->shape[i].kind == LB_SHAPE_LINE && drawing->shape[i].pen.layer == LB_LAYER_CUT)
      return &drawing->view[drawing->shape[i].view];
  return NULL;
}

/* The part of the template that a page shows [mm]. */
static struct lb_box part_of(const struct lb_drawing *drawing, size_t number) {
  const struct lb_view *view = view_of(drawing, number);
  ck_assert_ptr_nonnull(view);
  return (struct lb_box){(view->window.left - view->origin.x) / view->scale_x,
                         (view->window.bottom - view->origin.y) / view->scale_y,
                         (view->window.right - view->origin.x) / view->scale_x,
                         (view->window.top - view->origin.y) / view->scale_y};
}

/* Where on the template the crosses of a page lie; pairs of lines 8 mm long that halve each other.
 */
static int find_crosses(struct lb_point cross[4], const struct lb_drawing *drawing, size_t number) {
  const struct lb_page *p = &drawing->page[number];
  const struct lb_view *view = view_of(drawing, number);
  int count = 0;
  for (size_t i = p->first; i + 1 < p->first + p->shapes; i++) {
    const struct lb_shape *one = &drawing->shape[i], *other = &drawing->shape[i + 1];
    if (one->kind != LB_SHAPE_LINE || other->kind != LB_SHAPE_LINE || one->view != p->view ||
        fabs(one->to.x - one->at.x - 8) > 1e-9 || fabs(other->to.y - other->at.y - 8) > 1e-9)
      continue;
    struct lb_point middle = {(one->at.x + one->to.x) / 2, one->at.y};
    ck_close(other->at.x, middle.x, 1e-9);
    ck_close((other->at.y + other->to.y) / 2, middle.y, 1e-9);
    ck_assert_int_lt(count, 4);
    cross[count++] = at((middle.x - view->origin.x) / view->scale_x,
                        (middle.y - view->origin.y) / view->scale_y);
  }
  return count;
}

static bool has_cross(const struct lb_drawing *drawing, size_t number, struct lb_point p) {
  struct lb_point cross[4];
  int count = find_crosses(cross, drawing, number);
  for (int i = 0; i < count; i++)
    if (hypot(cross[i].x - p.x, cross[i].y - p.y) < 1e-6)
      return true;
  return false;
}

/* Neighbours, where they meet: they share a strip of 10 mm of paper, and two crosses in it. */
static void require_joint(const struct lb_drawing *drawing, size_t one, size_t other, bool beside) {
  const struct lb_view *view = view_of(drawing, one);
  struct lb_box a = part_of(drawing, one), b = part_of(drawing, other);
  struct lb_point cross[4];
  int shared = 0, count = find_crosses(cross, drawing, one);
  double strip = beside ? (a.right - b.left) * view->scale_x : (b.top - a.bottom) * view->scale_y;
  ck_close(strip, 10, 1e-9);
  for (int i = 0; i < count; i++)
    shared += has_cross(drawing, other, cross[i]);
  ck_assert_int_eq(shared, 2);
}

/* Tiles in rows from the top left cover the template, in the scale that makes up for the printer.
 */
static void require_tiles(const struct lb_drawing *drawing, const struct lb_sheet *sheet,
                          const struct lb_box *box) {
  int rows = 0, across = 0, row, column;
  const char *label = probe_letters(drawing, probe_find(drawing, 0, "row 1 of "));
  ck_assert_int_eq(sscanf(label, "row 1 of %d, column 1 of %d", &rows, &across), 2);
  ck_assert_uint_eq(drawing->pages, (size_t)(rows * across));
  for (size_t i = 0; i < drawing->pages; i++) {
    const struct lb_view *view = view_of(drawing, i);
    ck_close(view->scale_x, 100 / sheet->measured[0], EXACT);
    ck_close(view->scale_y, 100 / sheet->measured[1], EXACT);
    label = probe_letters(drawing, probe_find(drawing, i, "row "));
    ck_assert_int_eq(sscanf(label, "row %d of %*d, column %d of", &row, &column), 2);
    ck_assert_int_eq((row - 1) * across + column - 1, (int)i);
    if (column < across)
      require_joint(drawing, i, i + 1, true);
    if (row < rows)
      require_joint(drawing, i, i + (size_t)across, false);
  }
  struct lb_box first = part_of(drawing, 0), last = part_of(drawing, drawing->pages - 1);
  ck_assert(first.left <= box->left + 1e-9 && first.top >= box->top - 1e-9);
  ck_assert(last.right >= box->right - 1e-9 && last.bottom <= box->bottom + 1e-9);
  /* and none is for nothing */
  ck_assert(last.left + 10 / view_of(drawing, 0)->scale_x < box->right || across == 1);
  ck_assert(last.top - 10 / view_of(drawing, 0)->scale_y > box->bottom || rows == 1);
}

START_TEST(tiles_cover_the_template) {
  uint64_t state = 5;
  struct lb_machine machine = some_machine(3);
  struct sheet_maker maker;
  int tiled = 0;
  ck_assert(sheet_maker_begin(&maker, &machine));
  for (int i = 0; i < 60; i++) {
    struct lb_box box = {support_between(&state, -400, -20), support_between(&state, -400, -20),
                         support_between(&state, 20, 400), support_between(&state, 20, 400)};
    struct lb_template template = something(&box, NULL);
    struct lb_drawing drawing = {0};
    maker.sheet.size = (enum lb_paper_size)(i % LB_PAPER_SIZES);
    maker.sheet.measured[0] = corrections[i % 4][0];
    maker.sheet.measured[1] = corrections[i % 4][1];
    lb_sheet_template(&drawing, &maker.sheet, &template);
    if (drawing.pages > 1) {
      require_tiles(&drawing, &maker.sheet, &box);
      tiled++;
    } else {
      struct lb_box part = part_of(&drawing, 0);
      ck_assert(part.left <= box.left + 1e-9 && part.right >= box.right - 1e-9 &&
                part.bottom <= box.bottom + 1e-9 && part.top >= box.top - 1e-9);
      ck_assert_ptr_null(probe_find(&drawing, 0, "row 1"));
    }
    probe_sheet(&drawing);
    lb_drawing_free(&drawing);
  }
  ck_assert_int_ge(tiled, 20);
  sheet_maker_end(&maker);
}
END_TEST

/* The note stands whole below the template, or on a page more. */
START_TEST(note_is_written_whole) {
  static const char note[] = "First words of the note.\nMiddle.\nLast words of the note.";
  struct lb_machine machine = some_machine(3);
  struct sheet_maker maker;
  int more = 0;
  ck_assert(sheet_maker_begin(&maker, &machine));
  for (double height = 100; height < 500; height += 3) {
    struct lb_box box = {-50, 0, 50, height};
    struct lb_template template = something(&box, note);
    struct lb_drawing drawing = {0}, without = {0};
    lb_sheet_template(&drawing, &maker.sheet, &template);
    template.note = NULL;
    lb_sheet_template(&without, &maker.sheet, &template);
    size_t last = drawing.pages - 1;
    ck_assert(drawing.pages == without.pages || drawing.pages == without.pages + 1);
    more += drawing.pages > without.pages;
    ck_assert_ptr_nonnull(probe_find(&drawing, last, "First words of the note."));
    const struct lb_shape *end = probe_find(&drawing, last, "Last words of the note.");
    ck_assert_ptr_nonnull(end);
    const struct lb_view *view = view_of(&drawing, last);
    if (view)
      ck_assert(probe_find(&drawing, last, "First words")->at.y < view->origin.y);
    probe_sheet(&drawing);
    lb_drawing_free(&drawing);
    lb_drawing_free(&without);
  }
  ck_assert_int_ge(more, 2);
  sheet_maker_end(&maker);
}
END_TEST

START_TEST(cutting_page_holds_the_template_alone) {
  const struct lb_box box = {-500, -700, 900, 300};
  struct lb_machine machine = some_machine(3);
  struct sheet_maker maker;
  struct lb_drawing drawing = {0};
  ck_assert(sheet_maker_begin(&maker, &machine));
  maker.sheet.cutting = true;
  struct lb_template template = something(&box, "a note");
  lb_sheet_template(&drawing, &maker.sheet, &template);
  ck_assert_uint_eq(drawing.pages, 1);
  const struct lb_view *view = view_of(&drawing, 0);
  ck_assert(view->scale_x == 1 && view->scale_y == 1);
  struct lb_box part = part_of(&drawing, 0);
  ck_assert(part.left <= box.left && part.right >= box.right && part.bottom <= box.bottom &&
            part.top >= box.top);
  ck_assert_int_eq(count_bars(&drawing, 0, &maker.sheet, 100, 0), 0);
  static const char *const texts[] = {"Something", "all lengths in mm", "CRC-32 0123abcd"};
  for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
    const struct lb_shape *text = probe_find(&drawing, 0, texts[i]);
    ck_assert_int_eq(text->pen.layer, LB_LAYER_TEXT);
    ck_assert(text->at.y < view->origin.y + box.bottom);
  }
  ck_assert_ptr_null(probe_find(&drawing, 0, "a note"));
  probe_inside_pages(&drawing, 0);
  probe_no_overlapping_texts(&drawing);
  lb_drawing_free(&drawing);
  sheet_maker_end(&maker);
}
END_TEST

START_TEST(template_measures_itself) {
  const struct lb_box box = {-30, -20, 50, 70};
  struct lb_drawing drawing = {0};
  struct lb_template template = {"Something", NULL, {0, 0, 0, 0}, draw_something, &box};
  lb_sheet_measure(&drawing, &template);
  double around = 2 + lb_pen_cut.width / 2;
  ck_close(template.extent.left, box.left - around, 1e-9);
  ck_close(template.extent.bottom, box.bottom - around, 1e-9);
  ck_close(template.extent.right, box.right + around, 1e-9);
  ck_close(template.extent.top, box.top + around, 1e-9);
  ck_assert(drawing.pages == 0 && !drawing.failed);
}
END_TEST

static Suite *suite(void) {
  Suite *s = suite_create("sheet");
  TCase *c = tcase_create("sheet");
  tcase_set_timeout(c, 120);
  tcase_add_test(c, probe_sees_turned_texts);
  tcase_add_test(c, probe_sees_what_a_view_shows);
  tcase_add_test(c, papers_are_upright);
  tcase_add_test(c, crank_stands_where_it_is_seen);
  tcase_add_test(c, turned_template_shows_at_the_place);
  tcase_add_test(c, arcs_go_the_way_of_the_crank);
  tcase_add_test(c, text_keeps_to_its_width);
  tcase_add_test(c, text_is_cut_between_letters);
  tcase_add_test(c, lines_are_broken_at_blanks);
  tcase_add_test(c, lines_below_the_box_are_left_out);
  tcase_add_test(c, table_keeps_to_its_columns);
  tcase_add_test(c, figures_are_on_the_right);
  tcase_add_test(c, rows_below_the_box_are_left_out);
  tcase_add_test(c, heading_says_what_a_sheet_was_made_from);
  tcase_add_test(c, title_names_the_rule);
  tcase_add_test(c, long_names_stay_on_the_sheet);
  tcase_add_test(c, bars_are_true_on_every_page);
  tcase_add_test(c, tiles_cover_the_template);
  tcase_add_test(c, note_is_written_whole);
  tcase_add_test(c, cutting_page_holds_the_template_alone);
  tcase_add_test(c, template_measures_itself);
  suite_add_tcase(s, c);
  return s;
}

int main(void) {
  return support_run(suite(), NULL);
}
