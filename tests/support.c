/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Shared by the tests; see the header.
 */
#include "support.h"

#include <locale.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

double support_uniform(uint64_t *state) {
  uint64_t z = (*state += UINT64_C(0x9E3779B97F4A7C15));
  z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
  z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
  z ^= z >> 31;
  return (double)(z >> 11) * 0x1p-53;
}

double support_between(uint64_t *state, double low, double high) {
  return low + (high - low) * support_uniform(state);
}

/* An Nth of the samples is asked for. */
static int share(void) {
  const char *text = getenv("LASTBAR_ROUGH");
  int n = text ? atoi(text) : 1;
  return n > 1 ? n : 1;
}

bool support_is_rough(void) {
  const int rough = 10;
  return share() >= rough;
}

int support_times(int times) {
  return (times + share() - 1) / share();
}

int support_least(int count) {
  const int scatter = 2;
  return share() == 1 ? count : count / (scatter * share());
}

const char *support_source(const char *path) {
  static char full[4096];
  const char *root = getenv("LASTBAR_SOURCE");
  int length = snprintf(full, sizeof full, "%s/%s", root ? root : ".", path);
  ck_assert_msg(length > 0 && (size_t)length < sizeof full, "path too long: %s", path);
  return full;
}

const char *support_text(const struct support_row *row, const char *column) {
  for (int i = 0; i < row->columns; i++)
    if (strcmp(row->name[i], column) == 0)
      return row->cell[i];
  ck_abort_msg("%s:%d: no column %s", row->file, row->line, column);
  return NULL;
}

double support_number(const struct support_row *row, const char *column) {
  const char *text = support_text(row, column);
  char *end;
  double value = strtod(text, &end);
  ck_assert_msg(end != text && *end == '\0' && isfinite(value), "%s:%d: %s: not a number: '%s'",
                row->file, row->line, column, text);
  return value;
}

/* Cut a line into cells in place; returns how many. A quoted cell may hold commas. */
static int split(char *line, const char **cell, int most) {
  int count = 0;
  for (char *p = line; count < most;) {
    char *end;
    if (*p == '"') {
      cell[count++] = ++p;
      end = strchr(p, '"');
      ck_assert_msg(end != NULL, "unclosed quote: %s", p);
      *end++ = '\0';
    } else {
      cell[count++] = p;
      end = p + strcspn(p, ",");
    }
    if (*end == '\0')
      return count;
    *end = '\0';
    p = end + 1;
  }
  ck_abort_msg("more than %d columns", most);
  return count;
}

void support_published(const char *name, void (*each)(const struct support_row *row)) {
  char path[256], line[4096], header[4096];
  snprintf(path, sizeof path, "data/published/%s", name);
  FILE *file = fopen(support_source(path), "r");
  ck_assert_msg(file != NULL, "cannot open %s", support_source(path));
  struct support_row row = {.file = name};
  int declared = -1, seen = 0;
  while (fgets(line, sizeof line, file)) {
    row.line++;
    line[strcspn(line, "\r\n")] = '\0';
    if (line[0] == '#') {
      sscanf(line, "# rows = %d", &declared);
    } else if (row.columns == 0) {
      strcpy(header, line);
      row.columns = split(header, row.name, 40);
    } else if (line[0] != '\0') {
      int cells = split(line, row.cell, 40);
      ck_assert_msg(cells == row.columns, "%s:%d: %d cells, %d columns", name, row.line, cells,
                    row.columns);
      each(&row);
      seen++;
    }
  }
  fclose(file);
  ck_assert_msg(declared > 0 && seen == declared, "%s: %d rows seen, %d declared", name, seen,
                declared);
}

static bool enter_comma(const char *folder) {
  static const char *const names[] = {"de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8", "es_ES.UTF-8"};
  char command[512];
  for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
    if (setlocale(LC_ALL, names[i]))
      return true;
  snprintf(command, sizeof command, "localedef -i de_DE -f UTF-8 %s/de_DE.UTF-8 >%s/log 2>&1",
           folder, folder);
  return system(command) == 0 && setenv("LOCPATH", folder, 1) == 0 &&
         setlocale(LC_ALL, "de_DE.UTF-8");
}

bool support_decimal_comma(void) {
  char folder[] = "/tmp/lastbar-locale-XXXXXX", command[64];
  ck_assert_ptr_nonnull(mkdtemp(folder));
  bool comma = enter_comma(folder);
  unsetenv("LOCPATH");
  snprintf(command, sizeof command, "rm -rf %s", folder);
  ck_assert_int_eq(system(command), 0);
  ck_assert_msg(comma || !getenv("LASTBAR_STRICT"), "no locale with a decimal comma");
  if (!comma)
    fprintf(stderr, "no locale with a decimal comma here; looked at in \"C\"\n");
  return comma;
}

int support_run(Suite *first, ...) {
  SRunner *runner = srunner_create(first);
  va_list suites;
  va_start(suites, first);
  for (Suite *next; (next = va_arg(suites, Suite *));)
    srunner_add_suite(runner, next);
  va_end(suites);
  srunner_run_all(runner, CK_ENV);
  int run = srunner_ntests_run(runner), failed = srunner_ntests_failed(runner);
  srunner_free(runner);
  return failed == 0 && run > 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
