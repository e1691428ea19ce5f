/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The kinds of values. Numbers and units are the business of base/units; here stand the words and
 * lists around them.
 */
#include "machine/read_value.h"

#include "base/constants.h"
#include "base/format.h"
#include "base/plain.h"
#include "base/units.h"

#include <math.h>
#include <string.h>
#include <strings.h>

static const char stroke[] = " of stroke", return_stroke[] = " of return stroke";

static bool is_blank(char c) {
  return c == ' ' || c == '\t';
}

/* Lower case with single blanks. A text longer than `size` is cut, and then equals no word. */
static void fold(char *folded, size_t size, const char *text) {
  size_t used = 0;
  for (const char *at = text; *at && used + 1 < size; at++)
    if (!is_blank(*at) || (used > 0 && folded[used - 1] != ' '))
      folded[used++] = is_blank(*at) ? ' ' : lb_plain_lower(*at);
  folded[used] = '\0';
}

/* How such a value is written, for messages. */
static const char *example(const struct lb_key *key) {
  return key->telling ? key->telling : key->example;
}

static enum lb_status read_choice(struct lb_value *value, const struct lb_key *key,
                                  const char *text, struct lb_error *error) {
  char folded[LB_LINE_MOST + 1], shown[LB_PLAIN_SHOWN], words[100] = "";
  fold(folded, sizeof folded, text);
  size_t used = 0;
  for (size_t i = 0; key->choice[i]; i++) {
    if (strcmp(folded, key->choice[i]) == 0) {
      value->number = (double)i;
      return LB_OK;
    }
    const char *separator = i == 0 ? "" : key->choice[i + 1] ? ", " : " or ";
    used +=
        (size_t)lb_format(words + used, sizeof words - used, "%s'%s'", separator, key->choice[i]);
  }
  return lb_error_set(error, LB_BAD_INPUT, "'%s' is not a choice here; write %s%s%s",
                      lb_plain_shown(shown, text, strlen(text)), words,
                      key->choice_hint ? "; " : "", key->choice_hint ? key->choice_hint : "");
}

static enum lb_status read_count(struct lb_value *value, const char *text, struct lb_error *error) {
  char shown[LB_PLAIN_SHOWN];
  enum lb_status status = lb_units_read(&value->number, text, LB_NUMBER, 0, error);
  if (status == LB_OK && value->number == floor(value->number))
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT, "'%s' is not a whole number; write one such as 2",
                      lb_plain_shown(shown, text, strlen(text)));
}

static enum lb_status read_exponent(struct lb_value *value, const char *text,
                                    struct lb_error *error) {
  char folded[LB_LINE_MOST + 1], shown[LB_PLAIN_SHOWN];
  fold(folded, sizeof folded, text);
  value->number = LB_GAMMA;
  if (strcmp(folded, "adiabatic") == 0)
    return LB_OK;
  value->number = 1;
  if (strcmp(folded, "isothermal") == 0)
    return LB_OK;
  if (lb_plain_letter(folded[0]))
    return lb_error_set(error, LB_BAD_INPUT,
                        "'%s' is not known; write adiabatic, isothermal or an exponent such as "
                        "1.25",
                        lb_plain_shown(shown, text, strlen(text)));
  return lb_units_read(&value->number, text, LB_NUMBER, 0, error);
}

/* Where the ending of a folded text begins, or 0. */
static size_t ending(const char *folded, const char *end) {
  size_t length = strlen(folded), tail = strlen(end);
  return length > tail && strcmp(folded + length - tail, end) == 0 ? length - tail : 0;
}

/* "40 % of stroke": the share itself stands before `length`. */
static enum lb_status read_share(struct lb_value *value, const struct lb_key *key, const char *text,
                                 char *folded, size_t length, struct lb_error *error) {
  char shown[LB_PLAIN_SHOWN];
  folded[length] = '\0';
  enum lb_status status =
      lb_units_read_like(&value->number, folded, LB_FRACTION, 0, key->share, error);
  if (status != LB_OK)
    return status;
  value->is_share = true;
  bool away = key->stroke == LB_STROKE_AWAY;
  if (value->number >= 0 && value->number <= 1 && !(away && value->number == 0))
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT, "'%s' is not on the stroke; give %s 100 %%",
                      lb_plain_shown(shown, text, strlen(text)),
                      away ? "more than 0 % and up to" : "0 to");
}

/* A share of which nothing is said, of the other stroke, or of an event that has none.
 * of_stroke  the text names a stroke */
static enum lb_status refuse_share(const struct lb_key *key, const char *text, bool of_stroke,
                                   struct lb_error *error) {
  char shown[LB_PLAIN_SHOWN];
  bool back = key->stroke == LB_STROKE_BACK;
  lb_plain_shown(shown, text, strlen(text));
  if (!key->share)
    return lb_error_set(error, LB_BAD_INPUT,
                        "'%s' is a share, which this event does not take; write an angle such as "
                        "'%s'",
                        shown, example(key));
  if (of_stroke)
    return lb_error_set(error, LB_BAD_INPUT,
                        "'%s' counts on the %s, but this event lies on the %s; write a share "
                        "such as '%s', or an angle such as '%s'",
                        shown, back ? "stroke away from this end" : "return stroke",
                        back ? "return stroke" : "stroke away from this end", key->share,
                        example(key));
  return lb_error_set(error, LB_BAD_INPUT,
                      "'%s' does not say of what; write '%s%s', or an angle such as '%s'", shown,
                      shown, back ? " of return stroke" : " of stroke", example(key));
}

/* A bare number that may be an angle or a share: both are offered. */
static enum lb_status refuse_bare_event(const struct lb_key *key, double number,
                                        struct lb_error *error) {
  char angle[LB_KEYS_NUMBER], share[LB_KEYS_NUMBER];
  const double percent = 100;
  lb_keys_number(angle, number);
  lb_keys_number(share, number <= 1 ? number * percent : number);
  return lb_error_set(error, LB_BAD_INPUT, "'%s' has no unit; write '%s deg' or '%s %% of %s'",
                      angle, angle, share,
                      key->stroke == LB_STROKE_BACK ? "return stroke" : "stroke");
}

static enum lb_status read_event(struct lb_value *value, const struct lb_key *key, const char *text,
                                 struct lb_error *error) {
  char folded[LB_LINE_MOST + 1];
  double number;
  fold(folded, sizeof folded, text);
  size_t back = ending(folded, return_stroke), away = back ? 0 : ending(folded, stroke);
  if (key->stroke == LB_STROKE_AWAY && away)
    return read_share(value, key, text, folded, away, error);
  if (key->stroke == LB_STROKE_BACK && back)
    return read_share(value, key, text, folded, back, error);
  if (away || back || strchr(folded, '%'))
    return refuse_share(key, text, away || back, error);
  bool bare = key->share && lb_units_read(&number, text, LB_NUMBER, 0, NULL) == LB_OK;
  if (bare && number > 0 && number <= 100)
    return refuse_bare_event(key, number, error);
  return lb_units_read_like(&value->number, text, LB_ANGLE, 0, example(key), error);
}

static enum lb_status read_ramp(struct lb_value *value, const struct lb_key *key, const char *text,
                                struct lb_error *error) {
  value->is_time = lb_units_read(&value->number, text, LB_TIME, 0, NULL) == LB_OK;
  return value->is_time
             ? LB_OK
             : lb_units_read_like(&value->number, text, LB_ANGLE, 0, example(key), error);
}

/* "isothermal", "adiabatic" or "20 min". */
static enum lb_status read_heat(struct lb_value *value, const struct lb_key *key, const char *text,
                                struct lb_error *error) {
  char folded[LB_LINE_MOST + 1], shown[LB_PLAIN_SHOWN];
  fold(folded, sizeof folded, text);
  value->number = (double)INFINITY;
  if (strcmp(folded, "adiabatic") == 0)
    return LB_OK;
  value->number = 0;
  if (strcmp(folded, "isothermal") == 0)
    return LB_OK;
  if (lb_plain_letter(folded[0]))
    return lb_error_set(error, LB_BAD_INPUT,
                        "'%s' is not known; write isothermal, adiabatic or a time such as %s",
                        lb_plain_shown(shown, text, strlen(text)), example(key));
  enum lb_status status = lb_units_read_like(&value->number, text, LB_TIME, 0, example(key), error);
  if (status == LB_OK && value->number == 0) /* which stands for the word */
    return lb_error_set(error, LB_BAD_INPUT,
                        "'%s' is no time constant; for heat at once write isothermal",
                        lb_plain_shown(shown, text, strlen(text)));
  return status;
}

/* "1.5 %", "0.015", "1 in 80" or "2 deg". */
static enum lb_status read_gradient(struct lb_value *value, const struct lb_key *key,
                                    const char *text, struct lb_error *error) {
  static const char in[] = "in ";
  const char *unit;
  double rise, run, angle;
  bool splits = lb_units_split(&rise, &unit, text, NULL) == LB_OK;
  if (splits && strncasecmp(unit, in, strlen(in)) == 0 &&
      lb_units_read(&run, unit + strlen(in), LB_NUMBER, 0, NULL) == LB_OK && run > 0) {
    value->number = rise / run;
    return LB_OK;
  }
  if (lb_units_read(&angle, text, LB_ANGLE, 0, NULL) == LB_OK) {
    /* A wall and what hangs over are beyond the limits as they are. */
    value->number = fabs(angle) < LB_PI / 2 ? tan(angle) : angle;
    return LB_OK;
  }
  return lb_units_read_like(&value->number, text, LB_FRACTION, 0, example(key), error);
}

/* Where the blank before the "at" of a rating stands, or NULL. */
static const char *find_at(const char *text) {
  static const char at[] = "at";
  for (; *text; text++)
    if (is_blank(text[0]) && strncasecmp(text + 1, at, strlen(at)) == 0 &&
        is_blank(text[1 + strlen(at)]))
      return text;
  return NULL;
}

/* Cut the words for free air off an amount; whether there were any. */
static bool take_free(char *amount) {
  static const char *const words[] = {" of free air", " free air", " free", " anr", "(anr)"};
  size_t length = strlen(amount);
  while (length > 0 && is_blank(amount[length - 1]))
    amount[--length] = '\0';
  for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
    size_t word = strlen(words[i]);
    if (length <= word || strcasecmp(amount + length - word, words[i]) != 0)
      continue;
    amount[length - word] = '\0';
    return true;
  }
  return false;
}

/* Whether a unit is a cubic foot, which the trade states for free air alone. */
static bool is_cubic_foot(const char *unit) {
  static const char *const words[] = {"cu ft", "cuft", "ft3",        "cf",
                                      "scf",   "cft",  "cubic foot", "cubic feet"};
  char form[LB_PLAIN_UNIT];
  lb_plain_unit(form, unit);
  for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
    if (strcasecmp(form, words[i]) == 0)
      return true;
  return false;
}

/* The amount of a rating and what it is an amount of. */
static enum lb_status read_amount(struct lb_value *value, char *amount, struct lb_error *error) {
  static const char example_amount[] = "10 L";
  char feet[LB_LINE_MOST + 1];
  const char *unit;
  double number;
  value->is_free = take_free(amount);
  enum lb_status status = lb_units_split(&number, &unit, amount, error);
  if (status != LB_OK)
    return status;
  if (!is_cubic_foot(unit))
    return lb_units_read_like(&value->amount, amount, LB_VOLUME, 0, example_amount, error);
  value->is_free = true;
  lb_format(feet, sizeof feet, "%.*s cu ft", (int)(unit - amount), amount);
  return lb_units_read_like(&value->amount, feet, LB_VOLUME, 0, example_amount, error);
}

/* "10 L at 200 bar gauge", "80 cu ft at 3000 psig". */
static enum lb_status read_rating(struct lb_value *value, const char *text, double ambient,
                                  struct lb_error *error) {
  char amount[LB_LINE_MOST + 1], shown[LB_PLAIN_SHOWN];
  const char *at = find_at(text);
  lb_plain_shown(shown, text, strlen(text));
  if (!at)
    return lb_error_set(error, LB_BAD_INPUT,
                        "'%s' does not say at what pressure; write a rating such as '10 L at 200 "
                        "bar gauge', or '80 cu ft at 3000 psig' for free air",
                        shown);
  lb_format(amount, sizeof amount, "%.*s", (int)(at - text), text);
  enum lb_status status = read_amount(value, amount, error);
  if (status == LB_OK)
    status = lb_units_read_like(&value->number, at + strlen(" at"), LB_PRESSURE, ambient,
                                "200 bar gauge", error);
  if (status != LB_OK || value->amount > 0)
    return status;
  return lb_error_set(error, LB_BAD_INPUT,
                      "'%s' holds no air; write an amount such as '10 L at 200 bar gauge'", shown);
}

/* One item of a list, copied out so that it ends where the item does. */
struct item {
  char text[LB_LINE_MOST + 1];
  const char *unit; /* within text; "" if it has none */
};

/* Take the next item off a list; a comma parts two items only when a blank follows it, as it is a
 * decimal comma otherwise. */
static enum lb_status next_item(struct item *item, const char **list, struct lb_error *error) {
  size_t length = 0;
  double number;
  const char *at = *list;
  while (at[length] && !(at[length] == ',' && is_blank(at[length + 1])))
    length++;
  lb_format(item->text, sizeof item->text, "%.*s", (int)length, at);
  *list = at + length + (at[length] == ',');
  enum lb_status status = lb_units_split(&number, &item->unit, item->text, error);
  char shown[LB_PLAIN_SHOWN];
  if (status != LB_OK && strchr(item->text, ','))
    return lb_error_set(error, LB_BAD_INPUT,
                        "'%s' is not read as a list; write a blank behind each comma, e.g. '0 deg, "
                        "120 deg'",
                        lb_plain_shown(shown, at, length));
  return status;
}

/* Find the last item, whose unit those without one share; either every item has a unit or only the
 * last. */
static enum lb_status last_item(struct item *last, const char *text, struct lb_error *error) {
  int items = 0, with_unit = 0;
  for (const char *at = text; *at; items++) {
    enum lb_status status = next_item(last, &at, error);
    if (status != LB_OK)
      return status;
    with_unit += *last->unit != '\0';
  }
  char shown[LB_PLAIN_SHOWN];
  if (items > LB_CYLINDERS_MOST)
    return lb_error_set(error, LB_BAD_INPUT, "%d angles; there are at most %d cylinders", items,
                        LB_CYLINDERS_MOST);
  if (with_unit == items || (with_unit == 1 && *last->unit))
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT,
                      "'%s' has no unit for some angles; write it behind each, or once behind the "
                      "last",
                      lb_plain_shown(shown, text, strlen(text)));
}

/* "0 deg, 120 deg, 240 deg" or "0, 120, 240 deg". */
static enum lb_status read_angles(struct lb_value *value, const struct lb_key *key,
                                  const char *text, struct lb_error *error) {
  struct item item, last;
  char whole[2 * sizeof item.text];
  enum lb_status status = last_item(&last, text, error);
  for (const char *at = text; *at && status == LB_OK; value->angles++) {
    status = next_item(&item, &at, error);
    lb_format(whole, sizeof whole, "%s %s", item.text, *item.unit ? "" : last.unit);
    if (status == LB_OK)
      status =
          lb_units_read_like(&value->angle[value->angles], whole, LB_ANGLE, 0, example(key), error);
  }
  return status;
}

/* The value as typed, but not its limits. */
static enum lb_status read_kind(struct lb_value *value, const struct lb_key *key, const char *text,
                                double ambient, struct lb_error *error) {
  switch (key->kind) {
  case LB_KEY_CHOICE:
    return read_choice(value, key, text, error);
  case LB_KEY_COUNT:
    return read_count(value, text, error);
  case LB_KEY_ANGLES:
    return read_angles(value, key, text, error);
  case LB_KEY_EXPONENT:
    return read_exponent(value, text, error);
  case LB_KEY_EVENT:
    return read_event(value, key, text, error);
  case LB_KEY_RAMP:
    return read_ramp(value, key, text, error);
  case LB_KEY_RATING:
    return read_rating(value, text, ambient, error);
  case LB_KEY_HEAT:
    return read_heat(value, key, text, error);
  case LB_KEY_GRADIENT:
    return read_gradient(value, key, text, error);
  case LB_KEY_TEXT:
  case LB_KEY_QUANTITY:
    break;
  }
  return lb_units_read_like(&value->number, text, key->quantity, ambient, example(key), error);
}

/* "unknown" in place of a value: how to find it, or that it may be left out. */
static bool is_no_value(const char *text) {
  static const char *const words[] = {"unknown", "not known", "?", "??", "???", "n/a"};
  char folded[LB_LINE_MOST + 1];
  fold(folded, sizeof folded, text);
  for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
    if (strcmp(folded, words[i]) == 0)
      return true;
  return false;
}

static enum lb_status refuse_no_value(const struct lb_key *key, const char *text,
                                      struct lb_error *error) {
  char shown[LB_PLAIN_SHOWN];
  lb_plain_shown(shown, text, strlen(text));
  if (*key->otherwise)
    return lb_error_set(error, LB_BAD_INPUT,
                        "'%s' is no value; write one such as '%s', or leave the line out", shown,
                        example(key));
  return lb_error_set(error, LB_BAD_INPUT,
                      "'%s' is no value; lastbar help '%s.%s' says how to find it", shown,
                      key->section, key->name);
}

/* A mark of comment that touches the value, and so belongs to it; NULL if there is none. A '#' at
 * the end means pounds. */
static const char *touching_mark(const char *text) {
  const char *mark = strpbrk(text, ";#");
  return mark && (*mark == ';' || mark[1]) ? mark : NULL;
}

static enum lb_status refuse_mark(const char *text, struct lb_error *error) {
  char shown[LB_PLAIN_SHOWN];
  const char *mark = touching_mark(text);
  return lb_error_set(error, LB_BAD_INPUT, "'%s' has a '%c' in it; put a blank before a comment",
                      lb_plain_shown(shown, text, strlen(text)), *mark);
}

/* A word where there could be a number or "unknown". */
static enum lb_status refuse_word(const struct lb_key *key, const char *text,
                                  struct lb_error *error) {
  char shown[LB_PLAIN_SHOWN];
  return lb_error_set(error, LB_BAD_INPUT,
                      "'%s' does not begin with a number; write a value such as '%s', or unknown",
                      lb_plain_shown(shown, text, strlen(text)), example(key));
}

enum lb_status lb_value_read(struct lb_value *value, const struct lb_key *key, const char *text,
                             double ambient, struct lb_error *error) {
  struct lb_value fresh = {.number = 0};
  if (is_no_value(text) && !key->may_be_unknown)
    return refuse_no_value(key, text, error);
  fresh.is_unknown = is_no_value(text);
  if (fresh.is_unknown) {
    *value = fresh;
    return LB_OK;
  }
  if (key->may_be_unknown && lb_plain_letter(text[0]))
    return refuse_word(key, text, error);
  enum lb_status status = read_kind(&fresh, key, text, ambient, error);
  if (status != LB_OK && touching_mark(text))
    return refuse_mark(text, error);
  if (status != LB_OK)
    return status;
  bool has_limits = key->least < key->most && key->kind != LB_KEY_ANGLES && !fresh.is_share;
  char shown[LB_PLAIN_SHOWN];
  struct lb_key limits = *key;
  if (fresh.is_time) /* the row has those of the angle */
    limits.most = LB_RAMP_TIME_MOST;
  if (has_limits)
    status = lb_keys_limit(&limits, fresh.number, ambient,
                           lb_plain_shown(shown, text, strlen(text)), error);
  if (status == LB_OK)
    *value = fresh;
  return status;
}
