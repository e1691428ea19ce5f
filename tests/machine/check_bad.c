/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Every message a machine file can provoke, word for word: tests/bad/NAME.ini must give the text of
 * tests/bad/NAME.err. A line "; --set SECTION.KEY=VALUE" in the file is given as an override.
 */
#include "base/textfile.h"
#include "machine/read.h"
#include "support.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
  CASES = 294,
  NAMES_MOST = 1000,
  TEXT_MOST = 65536
};

static void print_error(FILE *out, const struct lb_error *error) {
  fputs("lastbar: ", out);
  if (error->set > 0)
    fprintf(out, "--set %d: ", error->set);
  else if (error->line > 0)
    fprintf(out, "%s:%d: ", error->file, error->line);
  else
    fprintf(out, "%s: ", error->file);
  fprintf(out, "%s%s%s\n", error->key, error->key[0] ? ": " : "", error->text);
}

/* The overrides written in the file as comments, given in their order. */
static void override(struct lb_textfile *text, const char *path, struct lb_errors *errors) {
  static const char mark[] = "; --set ";
  char line[2 * LB_LINE_MOST];
  int number = 0;
  FILE *file = fopen(support_source(path), "r");
  ck_assert(file != NULL);
  while (fgets(line, sizeof line, file)) {
    line[strcspn(line, "\n")] = '\0';
    if (strncmp(line, mark, strlen(mark)) == 0)
      lb_textfile_override(text, line + strlen(mark), ++number, errors);
  }
  fclose(file);
}

/* A whole file, cut at TEXT_MOST; returns its length. */
static size_t load(char *bytes, const char *path) {
  FILE *file = fopen(support_source(path), "rb");
  ck_assert_msg(file != NULL, "%s is missing", path);
  size_t length = fread(bytes, 1, TEXT_MOST - 1, file);
  fclose(file);
  bytes[length] = '\0';
  return length;
}

/* All messages of a machine file as the program prints them. */
static char *messages(const char *path) {
  static char bytes[TEXT_MOST];
  struct lb_machine before, machine;
  struct lb_errors errors = {0};
  struct lb_textfile *text;
  size_t length = load(bytes, path), size;
  char *printed = NULL;
  memset(&before, 0x5a, sizeof before);
  machine = before;
  enum lb_status form = lb_textfile_parse(&text, path, bytes, length, &errors), status = form;
  if (text) {
    override(text, path, &errors);
    status = lb_machine_read(&machine, NULL, text, &errors);
    ck_assert_msg(form == LB_OK || status == LB_BAD_INPUT, "%s was read all the same", path);
  }
  ck_assert_msg(errors.count > 0 && errors.dropped == 0, "%s gave no errors", path);
  ck_assert_msg(memcmp(&machine, &before, sizeof machine) == 0 || status == LB_OK,
                "%s changed the machine", path);
  FILE *out = open_memstream(&printed, &size);
  for (size_t i = 0; i < errors.count; i++)
    print_error(out, &errors.item[i]);
  fclose(out);
  lb_errors_free(&errors);
  lb_textfile_free(text);
  return printed;
}

static int by_name(const void *a, const void *b) {
  return strcmp(a, b);
}

/* The names of the files that end in `ending`, without it, sorted. */
static size_t list(char (*name)[256], const char *ending) {
  DIR *folder = opendir(support_source("tests/bad"));
  size_t count = 0;
  ck_assert(folder != NULL);
  for (struct dirent *entry; (entry = readdir(folder));) {
    size_t length = strlen(entry->d_name), tail = strlen(ending);
    if (length <= tail || strcmp(entry->d_name + length - tail, ending) != 0)
      continue;
    ck_assert_uint_lt(count, NAMES_MOST);
    snprintf(name[count++], sizeof name[0], "%.*s", (int)(length - tail), entry->d_name);
  }
  closedir(folder);
  qsort(name, count, sizeof name[0], by_name);
  return count;
}

START_TEST(every_message_is_as_written) {
  static char name[NAMES_MOST][256], expected[TEXT_MOST];
  char path[300];
  size_t count = list(name, ".ini");
  int wrong = 0;
  ck_assert_uint_eq(count, CASES);
  for (size_t i = 0; i < count; i++) {
    snprintf(path, sizeof path, "tests/bad/%.255s.err", name[i]);
    load(expected, path);
    snprintf(path, sizeof path, "tests/bad/%.255s.ini", name[i]);
    char *printed = messages(path);
    if (strcmp(printed, expected) != 0) {
      fprintf(stderr, "%s\nexpected:\n%sprinted:\n%s\n", name[i], expected, printed);
      wrong++;
    }
    free(printed);
  }
  ck_assert_int_eq(wrong, 0);
}
END_TEST

START_TEST(no_expectation_is_left_over) {
  static char ini[NAMES_MOST][256], err[NAMES_MOST][256];
  size_t count = list(ini, ".ini");
  ck_assert_uint_eq(list(err, ".err"), count);
  for (size_t i = 0; i < count; i++)
    ck_assert_str_eq(ini[i], err[i]);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("bad machine files");
  TCase *messages_case = tcase_create("messages");
  tcase_add_test(messages_case, every_message_is_as_written);
  tcase_add_test(messages_case, no_expectation_is_left_over);
  suite_add_tcase(suite, messages_case);
  return support_run(suite, NULL);
}
