/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Any bytes at all as a text: it is refused with located errors, or kept, whole or as far as it
 * is sound, so that the bytes come back, the values are clean, and a change can be read back. For
 * libFuzzer.
 */
#include "base/textfile.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void require(int holds) {
  if (!holds)
    abort();
}

static int is_blank(char c) {
  return c == ' ' || c == '\t';
}

static void check_errors(const struct lb_errors *errors, const char *name) {
  require(errors->count > 0);
  for (size_t i = 0; i < errors->count; i++) {
    const struct lb_error *error = &errors->item[i];
    require(error->status == LB_BAD_INPUT && error->file == name && error->line > 0);
    require(error->text[0] != '\0' && !strpbrk(error->text, "\r\n"));
    require(i == 0 || error->line >= error[-1].line);
  }
}

static void check_entries(const struct lb_textfile *text) {
  int line = 0;
  for (size_t i = 0; i < lb_textfile_count(text); i++) {
    const struct lb_entry *entry = lb_textfile_entry(text, i);
    size_t length = strlen(entry->value);
    require(length > 0 && length <= LB_LINE_MOST);
    require(!is_blank(entry->value[0]) && !is_blank(entry->value[length - 1]));
    require(!strpbrk(entry->value, "\r\n"));
    require(entry->section[0] != '\0' && entry->key[0] != '\0');
    require(entry->line > line && entry->set == 0);
    require(lb_textfile_find(text, entry->section, entry->key) == entry);
    line = entry->line;
  }
}

static void check_bytes(const struct lb_textfile *text, const void *data, size_t size) {
  size_t length;
  const char *bytes = lb_textfile_bytes(text, &length);
  require(length == size && (size == 0 || memcmp(bytes, data, size) == 0));
}

/* Both texts hold the same values in the same lines. */
static void check_same(const struct lb_textfile *text, const struct lb_textfile *other) {
  require(lb_textfile_count(text) == lb_textfile_count(other));
  for (size_t i = 0; i < lb_textfile_count(text); i++) {
    const struct lb_entry *entry = lb_textfile_entry(text, i);
    const struct lb_entry *same = lb_textfile_find(other, entry->section, entry->key);
    require(same && strcmp(entry->value, same->value) == 0 && entry->line == same->line);
  }
}

/* Change one value, add one, and read the result back. */
static void check_change(struct lb_textfile *text, size_t chosen, const char *name) {
  if (lb_textfile_count(text) > 0) {
    const struct lb_entry entry = *lb_textfile_entry(text, chosen % lb_textfile_count(text));
    lb_textfile_change(text, entry.section, entry.key, "1 mm", NULL);
    lb_textfile_change(text, entry.section, "a new key", "2 mm", NULL);
  }
  lb_textfile_change(text, "a new section", "a new key", "3 mm", NULL);
  size_t length;
  const char *bytes = lb_textfile_bytes(text, &length);
  struct lb_textfile *again;
  require(lb_textfile_parse(&again, name, bytes, length, NULL) == LB_OK);
  check_same(text, again);
  lb_textfile_free(again);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
  static const char name[] = "fuzz.ini";
  struct lb_textfile *text;
  struct lb_errors errors = {0};
  enum lb_status status = lb_textfile_parse(&text, name, (const char *)data, size, &errors);
  require(status == LB_BAD_INPUT || (status == LB_OK && text && errors.count == 0));
  if (status == LB_BAD_INPUT)
    check_errors(&errors, name);
  if (text) {
    check_bytes(text, data, size);
    check_entries(text);
  }
  if (status == LB_OK) {
    check_change(text, size, name);
  } else if (text) {
    require(lb_textfile_change(text, "s", "a", "1 mm", NULL) == LB_BAD_INPUT);
    check_bytes(text, data, size);
  }
  lb_errors_free(&errors);
  lb_textfile_free(text);
  return 0;
}
