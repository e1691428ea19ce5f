/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The bar of a long calculation: what it writes, and when it writes nothing.
 */
#include "../../cli/progress.h"

#include "support.h"

#include <stdlib.h>
#include <string.h>

/* What a bar writes that begins at 100 s and is told some shares, one each second and a half. */
static void written(char **text, bool terminal, double first, const double *share, size_t count,
                    bool end) {
  size_t size;
  FILE *stream = open_memstream(text, &size);
  struct progress progress;
  progress_begin(&progress, stream, terminal, 100);
  for (size_t i = 0; i < count; i++)
    progress_tell(&progress, share[i], 100 + first + 1.5 * (double)i);
  if (end)
    progress_end(&progress);
  fclose(stream);
}

static void ck_written(bool terminal, double first, double share, const char *expected) {
  char *text = NULL;
  written(&text, terminal, first, &share, 1, false);
  ck_assert_str_eq(text, expected);
  free(text);
}

/* Forty columns stand for the whole. */
START_TEST(draws_its_share) {
  ck_written(true, 1, 0, "\r[                                        ]   0 %");
  ck_written(true, 1, 0.5, "\r[####################                    ]  50 %");
  ck_written(true, 1, 1, "\r[########################################] 100 %");
  ck_written(true, 1, 1.5, "\r[########################################] 100 %");
  ck_written(true, 1, -1, "\r[                                        ]   0 %");
  ck_written(true, 1, (double)NAN, "\r[                                        ]   0 %");
}
END_TEST

START_TEST(keeps_quiet) {
  ck_written(false, 5, 0.5, "");
  ck_written(true, 0.99, 0.5, "");
}
END_TEST

/* A share that prints alike is not drawn again; at the end the whole line is wiped. */
START_TEST(draws_once_and_wipes) {
  const double share[] = {0.5, 0.5001, 0.51};
  char *text = NULL;
  written(&text, true, 1, share, 3, true);
  size_t line = strlen("[####################                    ]  50 %");
  int returns = 0;
  for (const char *at = text; *at; at++)
    returns += *at == '\r';
  ck_assert_int_eq(returns, 4); /* two drawings, to the front for the blanks and after them */
  ck_assert_int_eq((int)strlen(text), (int)(3 * line + 4));
  char *blanks = strrchr(text, '\r') - line;
  ck_assert_int_eq((int)strspn(blanks, " "), (int)line);
  free(text);
  written(&text, true, 0.5, share, 1, true); /* nothing was drawn, nothing is wiped */
  ck_assert_str_eq(text, "");
  free(text);
}
END_TEST

START_TEST(clock_goes_forward) {
  double earlier = progress_clock();
  ck_assert(earlier > 0);
  for (int i = 0; i < 100; i++) {
    double now = progress_clock();
    ck_assert(now >= earlier && now < earlier + 60);
    earlier = now;
  }
}
END_TEST

int main(void) {
  Suite *suite = suite_create("cli/progress");
  TCase *all = tcase_create("all");
  tcase_add_test(all, draws_its_share);
  tcase_add_test(all, keeps_quiet);
  tcase_add_test(all, draws_once_and_wipes);
  tcase_add_test(all, clock_goes_forward);
  suite_add_tcase(suite, all);
  return support_run(suite, NULL);
}
