/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The lists of values and of sections, each with an open hash table over its names, and the strings
 * they point to.
 */
#include "base/textfile_store.h"

#include "base/format.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* A string that lives as long as the text. */
struct lb_string {
  struct lb_string *next;
  char text[];
};

enum {
  SLOTS_LEAST = 16 /* a power of two */
};

/* FNV-1a over section, NUL, key. */
static size_t hash(const char *section, const char *key) {
  uint64_t h = UINT64_C(0xCBF29CE484222325);
  const uint64_t prime = UINT64_C(0x100000001B3);
  for (; *section; section++)
    h = (h ^ (unsigned char)*section) * prime;
  h *= prime;
  for (; *key; key++)
    h = (h ^ (unsigned char)*key) * prime;
  return (size_t)(h ^ h >> 32);
}

/* The slot that holds a name, or the free one where it would go. */
static size_t *slot_of(const struct lb_items *items, const char *section, const char *key) {
  size_t i = hash(section, key) & (items->slots - 1);
  for (; items->slot[i] > 0; i = (i + 1) & (items->slots - 1)) {
    const struct lb_entry *entry = &items->item[items->slot[i] - 1].entry;
    if (strcmp(entry->key, key) == 0 && strcmp(entry->section, section) == 0)
      break;
  }
  return &items->slot[i];
}

struct lb_item *lb_items_find(const struct lb_items *items, const char *section, const char *key) {
  size_t slot = items->slots ? *slot_of(items, section, key) : 0;
  return slot ? &items->item[slot - 1] : NULL;
}

bool lb_items_reserve(struct lb_items *items) {
  if (items->count < items->capacity)
    return true;
  size_t slots = items->slots ? 2 * items->slots : SLOTS_LEAST;
  struct lb_item *item = realloc(items->item, slots / 2 * sizeof *item);
  if (!item)
    return false;
  items->item = item;
  size_t *slot = calloc(slots, sizeof *slot);
  if (!slot)
    return false;
  free(items->slot);
  items->slot = slot;
  items->slots = slots;
  items->capacity = slots / 2;
  for (size_t i = 0; i < items->count; i++)
    *slot_of(items, item[i].entry.section, item[i].entry.key) = i + 1;
  return true;
}

void lb_items_add(struct lb_items *items, struct lb_item item) {
  size_t *slot = slot_of(items, item.entry.section, item.entry.key);
  items->item[items->count++] = item;
  *slot = items->count;
}

static void items_free(struct lb_items *items) {
  free(items->item);
  free(items->slot);
}

const char *lb_textfile_keep(struct lb_textfile *text, struct lb_span s) {
  struct lb_string *string = malloc(sizeof *string + s.length + 1);
  if (!string)
    return NULL;
  memcpy(string->text, s.at, s.length);
  string->text[s.length] = '\0';
  string->next = text->strings;
  text->strings = string;
  return string->text;
}

const char *lb_textfile_keep_name(struct lb_textfile *text, const char *name) {
  return lb_textfile_keep(text, (struct lb_span){name, strlen(name)});
}

bool lb_textfile_prepare(struct lb_item *fresh, struct lb_textfile *text, const char *section,
                         const char *key, struct lb_span value) {
  const struct lb_item *known = lb_items_find(&text->sections, section, "");
  struct lb_entry *entry = &fresh->entry;
  *fresh = (struct lb_item){.start = LB_NOWHERE, .length = value.length};
  entry->section = known ? known->entry.section : lb_textfile_keep_name(text, section);
  entry->key = lb_textfile_keep_name(text, key);
  entry->value = lb_textfile_keep(text, value);
  return entry->section && entry->key && entry->value && lb_items_reserve(&text->entries) &&
         lb_items_reserve(&text->sections);
}

void lb_textfile_add_section(struct lb_textfile *text, const char *name, size_t start, int line) {
  struct lb_entry entry = {.section = name, .key = "", .value = "", .line = line};
  lb_items_add(&text->sections, (struct lb_item){.entry = entry, .start = start});
}

size_t lb_textfile_mark(const struct lb_textfile *text) {
  static const char mark[] = "\xEF\xBB\xBF";
  bool marked = text->length >= strlen(mark) && memcmp(text->bytes, mark, strlen(mark)) == 0;
  return marked ? strlen(mark) : 0;
}

void lb_textfile_locate(struct lb_error *error, const char *file, int line, const char *section,
                        const char *key) {
  if (!error)
    return;
  error->file = file;
  error->line = line;
  if (key)
    lb_format(error->key, sizeof error->key, "[%s] %s", section, key);
}

void lb_textfile_clear(struct lb_textfile *text) {
  items_free(&text->entries);
  items_free(&text->sections);
  while (text->strings) {
    struct lb_string *next = text->strings->next;
    free(text->strings);
    text->strings = next;
  }
  free(text->bytes);
}

enum lb_status lb_textfile_no_memory(struct lb_error *error) {
  return lb_error_set(error, LB_NO_MEMORY,
                      "not enough memory for the text; free some and try again");
}
