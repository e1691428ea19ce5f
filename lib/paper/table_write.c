/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * JSON and CSV.
 */
#include "paper/table_write.h"

#include "paper/text.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

const char *lb_table_write_version(void) {
  return PACKAGE_VERSION;
}

/* Digits of a number: below the first every decimal reads back, at the last every double does. */
enum {
  DIGITS_LEAST = 15,
  DIGITS_MOST = 17
};

/* What jansson writes for a value that it takes over; NULL when memory runs out. */
static char *spell(json_t *value, size_t digits) {
  char *spelt = json_dumps(value, JSON_ENCODE_ANY | JSON_REAL_PRECISION(digits));
  json_decref(value);
  return spelt;
}

/* Whether a number as spelt reads back to itself. */
static bool reads_back(const char *spelt, double number) {
  json_t *value = json_loads(spelt, JSON_DECODE_ANY, NULL);
  bool same = value && json_number_value(value) == number;
  json_decref(value);
  return same;
}

static char *spell_number(double number) {
  for (size_t digits = DIGITS_LEAST;; digits++) {
    char *spelt = spell(json_real(number), digits);
    if (!spelt || digits == DIGITS_MOST || reads_back(spelt, number))
      return spelt;
    free(spelt);
  }
}

/* Add a text that may be NULL for want of memory, and release it. */
static void add_spelt(struct lb_text *out, char *spelt) {
  if (spelt)
    lb_text_add(out, "%s", spelt);
  else
    out->failed = true;
  free(spelt);
}

static enum lb_status spell_text(char **spelt, const char *text, struct lb_error *error) {
  json_t *value = json_string(text);
  if (!value)
    return lb_error_set(error, LB_BAD_INPUT, "a text of the answer is not valid UTF-8");
  *spelt = spell(value, DIGITS_MOST);
  return LB_OK;
}

/* A value as JSON spells it. */
static enum lb_status add_value(struct lb_text *out, const struct lb_record_item *item,
                                struct lb_error *error) {
  char *spelt = NULL;
  enum lb_status status = LB_OK;
  if (item->kind == LB_RECORD_TEXT)
    status = spell_text(&spelt, item->text, error);
  else if (item->kind == LB_RECORD_NUMBER)
    spelt = spell_number(item->number);
  else if (item->kind == LB_RECORD_WHOLE)
    spelt = spell(json_integer(item->whole), DIGITS_MOST);
  else if (item->kind == LB_RECORD_TRUTH)
    spelt = spell(json_boolean(item->truth), DIGITS_MOST);
  else
    spelt = spell(json_null(), DIGITS_MOST);
  if (status == LB_OK)
    add_spelt(out, spelt);
  return status;
}

/* The bracket that opens or closes what a list of kinds is in, innermost last. */
struct nest {
  char closing[32]; /* closing[depth] */
  size_t depth;
  bool empty; /* nothing stands in the innermost yet */
};

/* Go to the line of the next item. */
static void new_line(struct lb_text *out, struct nest *nest) {
  lb_text_add(out, "%s\n%*s", nest->empty ? "" : ",", (int)(2 * nest->depth), "");
  nest->empty = false;
}

static bool open_nest(struct lb_text *out, struct nest *nest, bool list) {
  if (nest->depth == sizeof nest->closing)
    return false;
  nest->closing[nest->depth++] = list ? ']' : '}';
  nest->empty = true;
  lb_text_add(out, "%c", list ? '[' : '{');
  return true;
}

static bool close_nest(struct lb_text *out, struct nest *nest) {
  if (nest->depth == 0)
    return false;
  char bracket = nest->closing[--nest->depth];
  if (!nest->empty)
    lb_text_add(out, "\n%*s", (int)(2 * nest->depth), "");
  lb_text_add(out, "%c", bracket);
  nest->empty = false;
  return true;
}

static enum lb_status add_item(struct lb_text *out, struct nest *nest,
                               const struct lb_record_item *item, struct lb_error *error) {
  static const char unbalanced[] = "the answer's objects do not open and close in pairs";
  if (item->kind == LB_RECORD_CLOSE)
    return close_nest(out, nest) && nest->depth > 0
               ? LB_OK
               : lb_error_set(error, LB_BAD_INPUT, "%s", unbalanced);
  new_line(out, nest);
  if (item->name) {
    char *spelt = NULL;
    enum lb_status status = spell_text(&spelt, item->name, error);
    if (status != LB_OK)
      return status;
    add_spelt(out, spelt);
    lb_text_add(out, ": ");
  }
  if (item->kind != LB_RECORD_OPEN && item->kind != LB_RECORD_OPEN_LIST)
    return add_value(out, item, error);
  return open_nest(out, nest, item->kind == LB_RECORD_OPEN_LIST)
             ? LB_OK
             : lb_error_set(error, LB_BAD_INPUT, "%s", unbalanced);
}

enum lb_status lb_table_write_json(char **json, const struct lb_record *record,
                                   struct lb_error *error) {
  struct lb_text out = {.failed = record->failed};
  struct nest nest = {.depth = 0};
  enum lb_status status = LB_OK;
  open_nest(&out, &nest, false);
  for (size_t i = 0; i < record->count && status == LB_OK; i++)
    status = add_item(&out, &nest, &record->item[i], error);
  if (status == LB_OK && (!close_nest(&out, &nest) || nest.depth > 0))
    status = lb_error_set(error, LB_BAD_INPUT, "the answer has an object without an end");
  lb_text_add(&out, "\n");
  if (status == LB_OK)
    return lb_text_take(json, &out, error);
  lb_text_free(&out);
  return status;
}

/* A text as a cell: harmless to a spreadsheet, quoted where it must be. */
static enum lb_status add_cell_text(struct lb_text *out, const char *text, struct lb_error *error) {
  char *spelt = NULL;
  enum lb_status status = spell_text(&spelt, text, error); /* refuses what is not UTF-8 */
  free(spelt);
  if (status != LB_OK)
    return status;
  const char *shield = *text && strchr("=+-@", *text) ? "'" : "";
  if (!strpbrk(text, ",\"\r\n")) {
    lb_text_add(out, "%s%s", shield, text);
    return LB_OK;
  }
  lb_text_add(out, "\"%s", shield);
  for (const char *at = text; *at; at++)
    lb_text_add(out, "%s%c", *at == '"' ? "\"" : "", *at); /* a quote is doubled */
  lb_text_add(out, "\"");
  return LB_OK;
}

static enum lb_status add_cell(struct lb_text *out, const struct lb_record_item *item,
                               struct lb_error *error) {
  if (item->kind == LB_RECORD_NULL)
    return LB_OK;
  if (item->kind == LB_RECORD_TEXT)
    return add_cell_text(out, item->text, error);
  return add_value(out, item, error);
}

/* Whether a row has the same names as the first, and values only. */
static bool matches(const struct lb_record *row, const struct lb_record *first) {
  if (row->count != first->count)
    return false;
  for (size_t i = 0; i < row->count; i++)
    if (row->item[i].kind < LB_RECORD_NULL || strcmp(row->item[i].name, first->item[i].name) != 0)
      return false;
  return true;
}

static enum lb_status add_row(struct lb_text *out, const struct lb_record *row,
                              struct lb_error *error) {
  enum lb_status status = LB_OK;
  for (size_t i = 0; i < row->count && status == LB_OK; i++) {
    lb_text_add(out, "%s", i ? "," : "");
    status = add_cell(out, &row->item[i], error);
  }
  lb_text_add(out, "\r\n");
  return status;
}

enum lb_status lb_table_write_csv(char **csv, const struct lb_record *row, size_t rows,
                                  struct lb_error *error) {
  struct lb_text out = {0};
  enum lb_status status = LB_OK;
  for (size_t i = 0; i < row[0].count; i++)
    lb_text_add(&out, "%s%s", i ? "," : "", row[0].item[i].name);
  lb_text_add(&out, "\r\n");
  for (size_t i = 0; i < rows && status == LB_OK; i++) {
    out.failed |= row[i].failed;
    status = out.failed || matches(&row[i], &row[0])
                 ? add_row(&out, &row[i], error)
                 : lb_error_set(error, LB_BAD_INPUT, "row %zu of the answer has other columns", i);
  }
  if (status == LB_OK)
    return lb_text_take(csv, &out, error);
  lb_text_free(&out);
  return status;
}
