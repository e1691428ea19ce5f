/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Statuses, messages and lists of messages.
 */
#include "base/status.h"

#include "base/format.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

const char *lb_status_text(enum lb_status status) {
  static const char *const text[] = {
      [LB_OK] = "answered",
      [LB_NO_ANSWER] = "no answer",
      [LB_BAD_INPUT] = "bad input",
      [LB_IO] = "could not read or write",
      [LB_NO_MEMORY] = "out of memory",
      [LB_NUMERIC] = "the calculation did not settle",
  };
  size_t i = (size_t)status;
  return i < sizeof text / sizeof text[0] ? text[i] : "unknown status";
}

enum lb_status lb_error_set(struct lb_error *error, enum lb_status status, const char *format,
                            ...) {
  if (!error)
    return status;
  *error = (struct lb_error){.status = status};
  va_list arguments;
  va_start(arguments, format);
  int length = lb_format_list(error->text, sizeof error->text, format, arguments);
  va_end(arguments);
  if (length >= (int)sizeof error->text)
    memcpy(error->text + sizeof error->text - 4, "...", 4);
  return status;
}

/* Make room for one more; doubling keeps a file of many errors linear. */
static int errors_grow(struct lb_errors *errors) {
  if (errors->count < errors->capacity)
    return 1;
  size_t capacity = errors->capacity ? 2 * errors->capacity : 8;
  struct lb_error *item = realloc(errors->item, capacity * sizeof *item);
  if (!item)
    return 0;
  errors->item = item;
  errors->capacity = capacity;
  return 1;
}

void lb_errors_add(struct lb_errors *errors, const struct lb_error *error) {
  if (!errors)
    return;
  if (errors->count >= LB_ERRORS_MOST || !errors_grow(errors)) {
    errors->dropped++;
    return;
  }
  errors->item[errors->count++] = *error;
}

static int by_place(const void *a, const void *b) {
  const struct lb_error *x = a, *y = b;
  if (x->set != y->set)
    return x->set < y->set ? -1 : 1;
  if (x->line != y->line)
    return x->line < y->line ? -1 : 1;
  int order = strcmp(x->key, y->key);
  return order != 0 ? order : strcmp(x->text, y->text);
}

void lb_errors_sort(struct lb_errors *errors) {
  if (errors->count > 1)
    qsort(errors->item, errors->count, sizeof errors->item[0], by_place);
}

void lb_errors_free(struct lb_errors *errors) {
  free(errors->item);
  *errors = (struct lb_errors){0};
}
