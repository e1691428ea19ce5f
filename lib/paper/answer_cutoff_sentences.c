/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the note says in sentences. A sentence is left out where a figure in it does not exist.
 */
#include "paper/answer_cutoff_page.h"

#include "base/format.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

enum {
  LINE_SIZE = 1600 /* room for a paragraph with two of the library's sentences */
};

__attribute__((format(printf, 2, 3))) static void say(struct lb_cutoff_page *page,
                                                      const char *format, ...) {
  char words[LINE_SIZE];
  va_list arguments;
  va_start(arguments, format);
  lb_format_list(words, sizeof words, format, arguments);
  va_end(arguments);
  lb_text_wrap(page->out, LB_PAGE_WIDTH, "", "", lb_show_sentence(&page->style, words).text);
}

/* "39 % more" or "1.1 % less"; "" where the difference would show as nothing. */
static struct lb_shown change(double ratio) {
  struct lb_shown shown = {""};
  double percent = fabs(ratio - 1) * 100;
  int decimals = percent >= 9.95 ? 0 : percent >= 0.995 ? 1 : 2;
  if (percent >= 0.005)
    lb_format(shown.text, sizeof shown.text, "%.*f %% %s", decimals, percent,
              ratio > 1 ? "more" : "less");
  return shown;
}

/* "39 % more pull than the other", "the same pull as the other"; without `other`, "39 % more pull".
 */
static struct lb_shown compare(double ratio, const char *thing, const char *other) {
  struct lb_shown by = change(ratio), shown;
  if (*by.text)
    lb_format(shown.text, sizeof shown.text, "%.24s %s%s%s", by.text, thing, other ? " than " : "",
              other ? other : "");
  else
    lb_format(shown.text, sizeof shown.text, "the same %s%s%s", thing, other ? " as " : "",
              other ? other : "");
  return shown;
}

static bool has_yield(const struct lb_choice *choice) {
  return choice->found && choice->revolution.work > 0 && choice->revolution.air > 0;
}

/* Air of one choice over that of another, for the same work. */
static double air_ratio(const struct lb_choice *one, const struct lb_choice *other) {
  return other->revolution.work_per_kg / one->revolution.work_per_kg;
}

static const char *choice_name(const struct lb_cutoff_page *page, enum lb_rule rule) {
  if (rule == LB_AS_TIMED)
    return "As timed in the file";
  if (rule == LB_ECONOMY)
    return "Best economy";
  if (page->paper->margin > 0)
    return "Release with the margin";
  return page->open_exhaust ? "Atmospheric release" : "Release at back pressure";
}

/* A sentence's first letter, in upper case. */
static char capital(const char *sentence) {
  char first = *sentence;
  return first >= 'a' && first <= 'z' ? (char)(first - 'a' + 'A') : first;
}

static void refuse(struct lb_cutoff_page *page, enum lb_rule rule) {
  const struct lb_choice *choice = &page->answer->choice[rule];
  const char *name = choice_name(page, rule), *would_do = choice->would_do;
  if (choice->found && !(choice->revolution.work > 0))
    say(page, "%s: no work after friction, the machine would not turn.", name);
  if (choice->found)
    return;
  if (*would_do)
    say(page, "%s: no answer. %c%s. %c%s.", name, capital(choice->why), choice->why + 1,
        capital(would_do), would_do + 1);
  else
    say(page, "%s: no answer. %c%s.", name, capital(choice->why), choice->why + 1);
}

void lb_page_refusals(struct lb_cutoff_page *page) {
  for (int i = 0; i < page->rules; i++)
    refuse(page, page->rule[i]);
  if (!page->own_timing && page->rules > 1)
    say(page, "The file gives no cut-off of its own to compare with.");
}

/* "39 % more pull than the other and takes 1.1 % more air for the same work" */
static void add_comparison(struct lb_text *line, const struct lb_choice *own,
                           const struct lb_choice *other, const char *name) {
  double pull = own->revolution.mean_torque / other->revolution.mean_torque;
  const char *thing = strstr(line->bytes, "pull") ? "pull" : "pull (mean torque)";
  lb_text_add(line, "%s and takes %s for the same work", compare(pull, thing, name).text,
              compare(air_ratio(own, other), "air", NULL).text);
}

/* What the file's timing loses of its air [1], if it is worth saying. */
static void add_waste(struct lb_text *line, double waste) {
  const double negligible = 0.001; /* [1] */
  struct lb_shown percent = change(1 - waste);
  if (waste >= negligible)
    lb_text_add(line, " Against best economy your timing wastes %.*s of its air.",
                (int)(strchr(percent.text, '%') + 1 - percent.text), percent.text);
}

static void compare_own(struct lb_cutoff_page *page) {
  const struct lb_choice *own = &page->answer->choice[LB_AS_TIMED];
  const struct lb_choice *rule = &page->answer->choice[LB_ATMOSPHERIC];
  const struct lb_choice *best = &page->answer->choice[LB_ECONOMY];
  const char *between = "Your timing gives ";
  struct lb_text line = {0};
  if (!has_yield(own))
    return;
  if (has_yield(rule)) {
    lb_text_add(&line, "%s", between);
    add_comparison(&line, own, rule, lb_page_rule(page));
    between = "; it gives ";
  }
  if (has_yield(best)) {
    lb_text_add(&line, "%s", between);
    add_comparison(&line, own, best, "best economy");
  }
  lb_text_add(&line, "%s", line.length ? "." : "");
  if (has_yield(best))
    add_waste(&line, 1 - 1 / air_ratio(own, best));
  if (line.length)
    lb_page_paragraph(page, "", &line);
  lb_text_free(&line);
}

/* The supply at which the file's timing releases at ambient: the larger suits the machine, since
 * then no end falls below. */
void lb_page_supply(struct lb_cutoff_page *page) {
  const double *supply = page->answer->supply_pressure;
  const char *outside = page->open_exhaust ? "ambient" : "back pressure";
  int larger = supply[LB_CAP_END] >= supply[LB_ROD_END] ? LB_CAP_END : LB_ROD_END;
  int smaller = larger == LB_CAP_END ? LB_ROD_END : LB_CAP_END;
  struct lb_shown most = lb_show_pressure(&page->style, supply[larger]);
  struct lb_text line = {0};
  if (!(supply[larger] > 0))
    return;
  lb_text_add(page->out, "\nSupply that suits your timing\n");
  lb_text_add(&line, "As timed, the %s would release at %s on a supply of %s",
              lb_page_end((enum lb_end)larger), outside, most.text);
  if (supply[smaller] > 0)
    lb_text_add(&line, ", the %s on %s; at the higher of the two neither end expands below %s",
                lb_page_end((enum lb_end)smaller),
                lb_show_pressure(&page->style, supply[smaller]).text, outside);
  lb_text_add(&line, ".");
  lb_page_paragraph(page, "  ", &line);
}

void lb_page_own_timing(struct lb_cutoff_page *page) {
  if (page->own_timing)
    compare_own(page);
}

/* "65.1 deg by the atmospheric rule, with 0.3 % less work from the same air" */
static void common(struct lb_cutoff_page *page, struct lb_text *line, enum lb_rule rule,
                   enum lb_rule apart, const char *name) {
  const struct lb_choice *choice = &page->answer->choice[rule];
  const struct lb_choice *ends = &page->answer->choice[apart];
  if (!choice->found) {
    lb_text_add(line, "none by %s", name);
    return;
  }
  lb_text_add(line, "%s by %s%s", lb_page_angle(true, choice->cutoff[LB_CAP_END]).text, name,
              rule == LB_COMMON_ATMOSPHERIC ? " (the later of the two)" : "");
  if (!has_yield(choice) || !has_yield(ends))
    return;
  struct lb_shown by = change(1 / air_ratio(choice, ends));
  if (*by.text)
    lb_text_add(line, ", with %s work from the same air than with two angles", by.text);
  else
    lb_text_add(line, ", at no cost");
}

void lb_page_common_angle(struct lb_cutoff_page *page) {
  struct lb_text line = {0};
  if (!page->both_ends || !page->pushes)
    return;
  lb_text_add(&line, "One angle for both ends: ");
  common(page, &line, LB_COMMON_ECONOMY, LB_ECONOMY, "best economy");
  lb_text_add(&line, "; ");
  common(page, &line, LB_COMMON_ATMOSPHERIC, LB_ATMOSPHERIC, lb_page_rule(page));
  lb_text_add(&line, ".");
  lb_page_paragraph(page, "", &line);
}
