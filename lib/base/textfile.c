/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The text as a whole: reading its bytes, and looking into it.
 */
#include "base/textfile.h"

#include "base/file_save.h"
#include "base/textfile_scan.h"
#include "base/textfile_store.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MEBIBYTE ((size_t)1024 * 1024)
#define TEXT_MOST_MEBIBYTES 64
#define TEXT_MOST (TEXT_MOST_MEBIBYTES * MEBIBYTE)
#define CHUNK ((size_t)64 * 1024) /* bytes asked for at a time */

/* Say why a whole text could not be taken; returns the status. number is the system's. */
static enum lb_status input_error(struct lb_errors *errors, const char *name, enum lb_status status,
                                  int number) {
  struct lb_error error;
  if (status == LB_IO)
    lb_file_refused(&error, name, "cannot be read", number);
  else if (status == LB_BAD_INPUT)
    lb_error_set(&error, status, "more than %d MiB; give a plain text", TEXT_MOST_MEBIBYTES);
  else
    lb_textfile_no_memory(&error);
  error.file = name;
  lb_errors_add(errors, &error);
  return status;
}

/* A new text over bytes, which it takes over even when it fails. */
static enum lb_status adopt(struct lb_textfile **out, const char *name, char *bytes, size_t length,
                            struct lb_errors *errors) {
  struct lb_textfile *text = calloc(1, sizeof *text);
  if (!text) {
    free(bytes);
    return input_error(errors, name, LB_NO_MEMORY, 0);
  }
  *text = (struct lb_textfile){.name = name, .bytes = bytes, .length = length};
  bool usable;
  enum lb_status status = lb_textfile_scan(text, &usable, errors);
  if (usable)
    *out = text;
  else
    lb_textfile_free(text);
  return status;
}

/* Bytes as they come in. */
struct input {
  char *bytes;
  size_t length, capacity;
  size_t line; /* start of the last, unfinished line */
};

/* Room for a chunk and a NUL. */
static bool input_grow(struct input *in) {
  if (in->capacity - in->length > CHUNK)
    return true;
  size_t capacity = 2 * (in->capacity + CHUNK);
  char *bytes = realloc(in->bytes, capacity);
  if (!bytes)
    return false;
  in->bytes = bytes;
  in->capacity = capacity;
  return true;
}

static void input_extend(struct input *in, size_t got) {
  size_t end = in->length + got;
  for (size_t i = end; i > in->length; i--)
    if (in->bytes[i - 1] == '\n') {
      in->line = i;
      break;
    }
  in->length = end;
  in->bytes[end] = '\0';
}

/* Read until the end, or as far as the scan will go. */
static enum lb_status input_read(struct input *in, FILE *stream) {
  for (size_t got = CHUNK; got == CHUNK && in->length - in->line <= LB_LINE_HOPELESS;) {
    if (!input_grow(in))
      return LB_NO_MEMORY;
    got = fread(in->bytes + in->length, 1, CHUNK, stream);
    input_extend(in, got);
    if (ferror(stream))
      return LB_IO;
    if (in->length > TEXT_MOST)
      return LB_BAD_INPUT;
  }
  return LB_OK;
}

enum lb_status lb_textfile_read(struct lb_textfile **text, const char *path,
                                struct lb_errors *errors) {
  bool standard = strcmp(path, "-") == 0;
  struct input in = {0};
  *text = NULL;
  FILE *stream = standard ? stdin : fopen(path, "rb");
  if (!stream)
    return input_error(errors, path, LB_IO, errno);
  enum lb_status status = input_read(&in, stream);
  int number = errno;
  if (!standard)
    fclose(stream);
  if (status == LB_OK)
    return adopt(text, path, in.bytes, in.length, errors);
  free(in.bytes);
  return input_error(errors, path, status, number);
}

enum lb_status lb_textfile_parse(struct lb_textfile **text, const char *name, const char *bytes,
                                 size_t length, struct lb_errors *errors) {
  *text = NULL;
  if (length > TEXT_MOST)
    return input_error(errors, name, LB_BAD_INPUT, 0);
  char *copy = malloc(length + 1);
  if (!copy)
    return input_error(errors, name, LB_NO_MEMORY, 0);
  if (length > 0)
    memcpy(copy, bytes, length);
  copy[length] = '\0';
  return adopt(text, name, copy, length, errors);
}

void lb_textfile_free(struct lb_textfile *text) {
  if (text)
    lb_textfile_clear(text);
  free(text);
}

const char *lb_textfile_name(const struct lb_textfile *text) {
  return text->name;
}

size_t lb_textfile_count(const struct lb_textfile *text) {
  return text->entries.count;
}

const struct lb_entry *lb_textfile_entry(const struct lb_textfile *text, size_t index) {
  return index < text->entries.count ? &text->entries.item[index].entry : NULL;
}

const struct lb_entry *lb_textfile_find(const struct lb_textfile *text, const char *section,
                                        const char *key) {
  const struct lb_item *item = lb_items_find(&text->entries, section, key);
  return item ? &item->entry : NULL;
}

size_t lb_textfile_sections(const struct lb_textfile *text) {
  return text->sections.count;
}

const char *lb_textfile_section(const struct lb_textfile *text, size_t index, int *line) {
  if (index >= text->sections.count)
    return NULL;
  const struct lb_entry *entry = &text->sections.item[index].entry;
  if (line)
    *line = entry->line;
  return entry->section;
}

bool lb_textfile_faulty(const struct lb_textfile *text) {
  return text->faulty;
}

bool lb_textfile_section_faulty(const struct lb_textfile *text, const char *section) {
  const struct lb_item *item = lb_items_find(&text->sections, section, "");
  return text->astray || (item && item->faulty);
}
