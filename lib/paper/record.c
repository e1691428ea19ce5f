/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Named values in order.
 */
#include "paper/record.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
  FIRST_CAPACITY = 64
};

/* The new last item, or NULL when memory has run out. */
static struct lb_record_item *add(struct lb_record *record, enum lb_record_kind kind,
                                  const char *name) {
  if (record->failed)
    return NULL;
  if (record->count == record->capacity) {
    size_t capacity = record->capacity ? 2 * record->capacity : FIRST_CAPACITY;
    struct lb_record_item *item = realloc(record->item, capacity * sizeof *item);
    if (!item) {
      record->failed = true;
      return NULL;
    }
    record->item = item;
    record->capacity = capacity;
  }
  struct lb_record_item *item = &record->item[record->count++];
  *item = (struct lb_record_item){.kind = kind, .name = name};
  return item;
}

void lb_record_open(struct lb_record *record, const char *name) {
  add(record, LB_RECORD_OPEN, name);
}

void lb_record_open_list(struct lb_record *record, const char *name) {
  add(record, LB_RECORD_OPEN_LIST, name);
}

void lb_record_close(struct lb_record *record) {
  add(record, LB_RECORD_CLOSE, NULL);
}

void lb_record_null(struct lb_record *record, const char *name) {
  add(record, LB_RECORD_NULL, name);
}

void lb_record_truth(struct lb_record *record, const char *name, bool value) {
  struct lb_record_item *item = add(record, LB_RECORD_TRUTH, name);
  if (item)
    item->truth = value;
}

void lb_record_whole(struct lb_record *record, const char *name, int value) {
  struct lb_record_item *item = add(record, LB_RECORD_WHOLE, name);
  if (item)
    item->whole = value;
}

void lb_record_number(struct lb_record *record, const char *name, double value) {
  struct lb_record_item *item =
      add(record, isfinite(value) ? LB_RECORD_NUMBER : LB_RECORD_NULL, name);
  if (item && isfinite(value))
    item->number = value == 0 ? 0 : value;
}

void lb_record_number_if(struct lb_record *record, bool applies, const char *name, double value) {
  if (applies)
    lb_record_number(record, name, value);
  else
    lb_record_null(record, name);
}

void lb_record_text(struct lb_record *record, const char *name, const char *value) {
  struct lb_record_item *item = add(record, value ? LB_RECORD_TEXT : LB_RECORD_NULL, name);
  if (!item || !value)
    return;
  size_t size = strlen(value) + 1;
  item->text = malloc(size);
  if (item->text)
    memcpy(item->text, value, size);
  else
    record->failed = true;
}

void lb_record_warnings(struct lb_record *record, const struct lb_warning *warning,
                        size_t warnings) {
  lb_record_open_list(record, "warnings");
  for (size_t i = 0; i < warnings; i++) {
    lb_record_open(record, NULL);
    lb_record_text(record, "code", warning[i].code);
    lb_record_text(record, "text", warning[i].text);
    lb_record_close(record);
  }
  lb_record_close(record);
}

void lb_record_free(struct lb_record *record) {
  for (size_t i = 0; i < record->count; i++)
    free(record->item[i].text);
  free(record->item);
  *record = (struct lb_record){0};
}
