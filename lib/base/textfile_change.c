/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Values that come from elsewhere than the text: overrides, which leave its bytes alone, and
 * changes, which are made in its bytes.
 *
 * Invariant: an item whose start is not LB_NOWHERE has its text at bytes[start .. start + length),
 * before and after every change.
 */
#include "base/format.h"
#include "base/textfile.h"
#include "base/textfile_line.h"
#include "base/textfile_store.h"

#include <stdlib.h>
#include <string.h>

/* Fold a name that is to stand in the text, and refuse what could not be read back from there.
 * what       "section" or "key", for messages
 * forbidden  bytes it cannot hold */
static bool name_check(char folded[LB_NAME_MOST + 1], struct lb_span name, const char *what,
                       const char *forbidden, struct lb_error *error) {
  name = lb_line_trimmed(name);
  if (!lb_line_is_text(name, error))
    return false;
  if (name.length == 0) {
    lb_error_set(error, LB_BAD_INPUT, "no %s; name one", what);
    return false;
  }
  if (!lb_line_fold(folded, name)) {
    lb_error_set(error, LB_BAD_INPUT, "a %s name of more than %d bytes; shorten it", what,
                 LB_NAME_MOST);
    return false;
  }
  if (strpbrk(folded, forbidden) || lb_line_content(name).length < name.length) {
    lb_error_set(error, LB_BAD_INPUT, "'%s' cannot be a %s name; use letters, digits and blanks",
                 folded, what);
    return false;
  }
  return true;
}

static bool section_check(char folded[LB_NAME_MOST + 1], struct lb_span name,
                          struct lb_error *error) {
  return name_check(folded, name, "section", "[]", error);
}

static bool key_check(char folded[LB_NAME_MOST + 1], struct lb_span name, struct lb_error *error) {
  return name_check(folded, name, "key", "[]=:", error);
}

/* Trim a value and refuse what could not be read back. */
static bool value_check(struct lb_span *value, const char *given, struct lb_error *error) {
  *value = lb_line_trimmed((struct lb_span){given, strlen(given)});
  if (!lb_line_is_text(*value, error))
    return false;
  if (value->length == 0)
    lb_error_set(error, LB_BAD_INPUT, "an empty value; give one");
  else if (value->length > LB_LINE_MOST)
    lb_error_set(error, LB_BAD_INPUT, "a value of %zu bytes; shorten it to %d", value->length,
                 LB_LINE_MOST);
  else if (lb_line_content(*value).length < value->length)
    lb_error_set(error, LB_BAD_INPUT,
                 "';' or '#' at the start or after a blank would begin a comment; leave it out");
  else
    return true;
  return false;
}

/* Split "section.key=value" and check its parts; key_known tells how far it came. */
static bool assignment_split(char section[LB_NAME_MOST + 1], char key[LB_NAME_MOST + 1],
                             struct lb_span *value, bool *key_known, const char *assignment,
                             struct lb_error *error) {
  const char *equals = strchr(assignment, '='), *dot = equals;
  *key_known = false;
  if (!lb_line_is_text((struct lb_span){assignment, strlen(assignment)}, error))
    return false;
  while (dot && dot > assignment && *dot != '.')
    dot--;
  if (!dot || *dot != '.') {
    lb_error_set(error, LB_BAD_INPUT, "no '%s' in '%s'; write section.key=value",
                 equals ? "." : "=", assignment);
    return false;
  }
  *key_known =
      section_check(section, (struct lb_span){assignment, (size_t)(dot - assignment)}, error) &&
      key_check(key, (struct lb_span){dot + 1, (size_t)(equals - dot) - 1}, error);
  return *key_known && value_check(value, equals + 1, error);
}

/* Put an override in, of an entry that may be there already. */
static enum lb_status override_put(struct lb_textfile *text, const char *section, const char *key,
                                   struct lb_span value, int number, struct lb_error *error) {
  struct lb_item *old = lb_items_find(&text->entries, section, key);
  if (old && old->entry.set > 0)
    return lb_error_set(error, LB_BAD_INPUT, "already set by --set %d; keep one of the two",
                        old->entry.set);
  struct lb_item fresh;
  if (!lb_textfile_prepare(&fresh, text, section, key, value))
    return lb_textfile_no_memory(error);
  fresh.entry.set = number;
  if (!lb_items_find(&text->sections, section, ""))
    lb_textfile_add_section(text, fresh.entry.section, LB_NOWHERE, 0);
  old = lb_items_find(&text->entries, section, key);
  if (old)
    old->entry = fresh.entry;
  else
    lb_items_add(&text->entries, fresh);
  return LB_OK;
}

enum lb_status lb_textfile_override(struct lb_textfile *text, const char *assignment, int number,
                                    struct lb_errors *errors) {
  char section[LB_NAME_MOST + 1], key[LB_NAME_MOST + 1];
  struct lb_span value;
  struct lb_error error;
  bool key_known;
  enum lb_status status = LB_BAD_INPUT;
  if (assignment_split(section, key, &value, &key_known, assignment, &error))
    status = override_put(text, section, key, value, number, &error);
  if (status == LB_OK)
    return LB_OK;
  lb_textfile_locate(&error, NULL, 0, section, key_known ? key : NULL);
  error.set = number;
  lb_errors_add(errors, &error);
  return status;
}

static int newlines(const char *bytes, size_t length) {
  int count = 0;
  for (size_t i = 0; i < length; i++)
    count += bytes[i] == '\n';
  return count;
}

/* Move what stands at or behind a place, after `removed` bytes gave way to `added` ones. */
static void items_shift(struct lb_items *items, size_t from, size_t removed, size_t added,
                        int lines) {
  for (size_t i = 0; i < items->count; i++) {
    struct lb_item *item = &items->item[i];
    if (item->start == LB_NOWHERE || item->start < from)
      continue;
    item->start = item->start - removed + added;
    if (item->entry.line > 0)
      item->entry.line += lines;
  }
}

/* Put `with` in place of the `removed` bytes at a place; none of those is a line end. */
static bool splice(struct lb_textfile *text, size_t at, size_t removed, struct lb_span with) {
  size_t length = text->length - removed + with.length;
  char *bytes = malloc(length + 1);
  if (!bytes)
    return false;
  size_t behind = at + removed;
  memcpy(bytes, text->bytes, at);
  memcpy(bytes + at, with.at, with.length);
  memcpy(bytes + at + with.length, text->bytes + behind, text->length - behind);
  bytes[length] = '\0';
  free(text->bytes);
  text->bytes = bytes;
  text->length = length;
  int lines = newlines(with.at, with.length);
  items_shift(&text->entries, behind, removed, with.length, lines);
  items_shift(&text->sections, behind, removed, with.length, lines);
  return true;
}

/* Where the line of a value begins. That is never the first line: a header stands above. */
static size_t line_start(const struct lb_textfile *text, size_t at) {
  while (text->bytes[at - 1] != '\n')
    at--;
  return at;
}

/* Where the content of a line ends. */
static size_t line_end(const struct lb_textfile *text, size_t at) {
  const char *end = memchr(text->bytes + at, '\n', text->length - at);
  if (!end)
    return text->length;
  size_t place = (size_t)(end - text->bytes);
  return place > 0 && text->bytes[place - 1] == '\r' ? place - 1 : place;
}

/* The line ending of the first line, LF when there is none. */
static const char *line_ending(const struct lb_textfile *text) {
  return text->bytes[line_end(text, 0)] == '\r' ? "\r\n" : "\n";
}

static enum lb_status too_long(struct lb_error *error, size_t length) {
  return lb_error_set(error, LB_BAD_INPUT, "the line would have %zu bytes; shorten it to %d",
                      length, LB_LINE_MOST);
}

/* A new value in place of the old one. That of an override stays what is read. */
static enum lb_status value_replace(struct lb_textfile *text, struct lb_item *item,
                                    struct lb_span value, struct lb_error *error) {
  size_t line = line_end(text, item->start) - line_start(text, item->start);
  line = line - item->length + value.length;
  if (line > LB_LINE_MOST)
    return too_long(error, line);
  const char *kept = lb_textfile_keep(text, value);
  if (!kept || !splice(text, item->start, item->length, value))
    return lb_textfile_no_memory(error);
  item->length = value.length;
  if (item->entry.set == 0)
    item->entry.value = kept;
  return LB_OK;
}

/* Lines to be added to the text. */
struct addition {
  size_t at;
  char bytes[2 * LB_NAME_MOST + LB_LINE_MOST + sizeof "\r\n\r\n[]\r\n = \r\n"];
  size_t length;
  size_t header, value; /* where in bytes they begin; header LB_NOWHERE when it has none */
};

/* The last place of a section in the text: of its last value, or its header; LB_NOWHERE without. */
static size_t section_last(const struct lb_textfile *text, const char *section) {
  const struct lb_item *header = lb_items_find(&text->sections, section, "");
  if (!header || header->start == LB_NOWHERE)
    return LB_NOWHERE;
  size_t last = header->start;
  for (size_t i = 0; i < text->entries.count; i++) {
    const struct lb_item *item = &text->entries.item[i];
    if (item->entry.section == header->entry.section && item->start != LB_NOWHERE &&
        item->start > last)
      last = item->start;
  }
  return last;
}

/* A line below the last of its section, or a header and a line at the end. A text whose last line
 * has no end keeps it so. */
static void addition_lay(struct addition *add, const struct lb_textfile *text, const char *section,
                         const char *key, struct lb_span value) {
  const char *ending = line_ending(text);
  size_t last = section_last(text, section);
  bool empty = text->length == lb_textfile_mark(text);
  bool ended = empty || text->bytes[text->length - 1] == '\n';
  int used;
  *add = (struct addition){.at = text->length, .header = LB_NOWHERE};
  if (last != LB_NOWHERE) {
    add->at = line_end(text, last);
    used = lb_format(add->bytes, sizeof add->bytes, "%s%s = ", ending, key);
    ended = false;
  } else {
    used =
        lb_format(add->bytes, sizeof add->bytes, "%s%s", ended ? "" : ending, empty ? "" : ending);
    add->header = (size_t)used;
    used += lb_format(add->bytes + used, sizeof add->bytes - (size_t)used, "[%s]%s%s = ", section,
                      ending, key);
  }
  add->value = (size_t)used;
  used += lb_format(add->bytes + used, sizeof add->bytes - (size_t)used, "%.*s%s",
                    (int)value.length, value.at, ended ? ending : "");
  add->length = (size_t)used;
}

/* Tell the lists of a line that is in the bytes now. */
static void addition_note(struct lb_textfile *text, const struct addition *add,
                          struct lb_item fresh) {
  const char *section = fresh.entry.section;
  if (!lb_items_find(&text->sections, section, ""))
    lb_textfile_add_section(text, section, LB_NOWHERE, 0);
  if (add->header != LB_NOWHERE) {
    struct lb_item *header = lb_items_find(&text->sections, section, "");
    header->start = add->at + add->header;
    header->entry.line = 1 + newlines(text->bytes, header->start);
  }
  fresh.start = add->at + add->value;
  fresh.entry.line = 1 + newlines(text->bytes, fresh.start);
  struct lb_item *overridden = lb_items_find(&text->entries, section, fresh.entry.key);
  if (!overridden) {
    lb_items_add(&text->entries, fresh);
  } else {
    overridden->start = fresh.start;
    overridden->length = fresh.length;
  }
}

static enum lb_status value_append(struct lb_textfile *text, const char *section, const char *key,
                                   struct lb_span value, struct lb_error *error) {
  struct addition add;
  struct lb_item fresh;
  size_t line = strlen(key) + strlen(" = ") + value.length;
  if (line > LB_LINE_MOST)
    return too_long(error, line);
  addition_lay(&add, text, section, key, value);
  if (!lb_textfile_prepare(&fresh, text, section, key, value) ||
      !splice(text, add.at, 0, (struct lb_span){add.bytes, add.length}))
    return lb_textfile_no_memory(error);
  addition_note(text, &add, fresh);
  return LB_OK;
}

enum lb_status lb_textfile_change(struct lb_textfile *text, const char *section, const char *key,
                                  const char *value, struct lb_error *error) {
  char section_name[LB_NAME_MOST + 1], key_name[LB_NAME_MOST + 1];
  struct lb_span checked;
  if (text->faulty) {
    lb_error_set(error, LB_BAD_INPUT, "the text has errors; mend them before a value is changed");
    lb_textfile_locate(error, text->name, 0, NULL, NULL);
    return LB_BAD_INPUT;
  }
  if (!section_check(section_name, (struct lb_span){section, strlen(section)}, error) ||
      !key_check(key_name, (struct lb_span){key, strlen(key)}, error)) {
    lb_textfile_locate(error, text->name, 0, NULL, NULL);
    return LB_BAD_INPUT;
  }
  struct lb_item *item = lb_items_find(&text->entries, section_name, key_name);
  int line = item ? item->entry.line : 0;
  enum lb_status status = LB_BAD_INPUT;
  if (value_check(&checked, value, error))
    status = item && item->start != LB_NOWHERE
                 ? value_replace(text, item, checked, error)
                 : value_append(text, section_name, key_name, checked, error);
  if (status != LB_OK)
    lb_textfile_locate(error, text->name, line, section_name, key_name);
  return status;
}

const char *lb_textfile_bytes(const struct lb_textfile *text, size_t *length) {
  *length = text->length;
  return text->bytes;
}
