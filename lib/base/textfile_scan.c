/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One walk over the bytes.
 *
 * inih keeps the current section and splits keys from values, but never sees a line that it would
 * get wrong: the reader it is given walks the bytes, counts lines, refuses every fault of form, and
 * hands on only "[section]" and "key=value" with folded names, no comment, and short enough for its
 * buffer. The value itself is then taken from the bytes, where a line may be longer.
 *
 * A line at fault hides what it may have held. Its section is marked, or the whole text when it
 * cannot be told which section that was; a comment hides nothing, and neither does a doubled key.
 */
#include "base/textfile_scan.h"

#include "base/format.h"
#include "base/textfile_line.h"
#include "base/textfile_store.h"

#include <ini.h>
#include <stdio.h>
#include <string.h>

enum {
  FOREIGN_MOST = 20, /* lines that are not text before the reading stops */
  STRANGE_MOST = 20  /* lines at fault, with none that is sound before them, likewise */
};

struct scan {
  struct lb_textfile *text;
  struct lb_errors *errors;
  size_t next;                    /* first byte of the next line */
  int line;                       /* number of the current line */
  struct lb_span value;           /* of the line handed on last */
  char section[LB_NAME_MOST + 1]; /* current section, "" before the first */
  char key[LB_NAME_MOST + 1];     /* of the line handed on last */
  bool lost;                      /* the last header had no usable name: its keys belong nowhere */
  bool stopped;                   /* nothing more is worth reading */
  int foreign;                    /* lines that are not text */
  int faults;                     /* reported so far */
  bool sound;                     /* a line was */
  size_t handed, received;        /* key lines given to inih, and got back from it */
  bool no_memory;
};

/* Report a fault of the current line; key may be NULL. */
static void report(struct scan *scan, const char *key, struct lb_error *error) {
  lb_textfile_locate(error, scan->text->name, scan->line, scan->section, key);
  lb_errors_add(scan->errors, error);
  scan->text->faulty = true;
  scan->faults++;
}

static bool refuse(struct scan *scan, const char *key, const char *message) {
  struct lb_error error;
  lb_error_set(&error, LB_BAD_INPUT, "%s", message);
  report(scan, key, &error);
  return false;
}

static bool refuse_long_key(struct scan *scan) {
  struct lb_error error;
  lb_error_set(&error, LB_BAD_INPUT, "a key of more than %d bytes; shorten it", LB_NAME_MOST);
  report(scan, NULL, &error);
  return false;
}

/* Mark what a line that could not be read may have belonged to. */
static void hide(struct scan *scan) {
  struct lb_item *section =
      scan->lost ? NULL : lb_items_find(&scan->text->sections, scan->section, "");
  if (section)
    section->faulty = true;
  else
    scan->text->astray = true;
}

/* Make a header's section known. Returns false when memory runs out. */
static bool section_enter(struct scan *scan, const char *header) {
  struct lb_textfile *text = scan->text;
  if (lb_items_find(&text->sections, scan->section, ""))
    return true;
  const char *name = lb_textfile_keep_name(text, scan->section);
  scan->no_memory = !name || !lb_items_reserve(&text->sections);
  if (scan->no_memory)
    return false;
  lb_textfile_add_section(text, name, (size_t)(header - text->bytes), scan->line);
  return true;
}

/* "name]": a header that has lost its '['. */
static bool lacks_opening(struct lb_span body) {
  static const char others[] = "=:[";
  for (const char *sign = others; *sign; sign++)
    if (memchr(body.at, *sign, body.length))
      return false;
  return body.at[body.length - 1] == ']';
}

/* Take the name of a header for the current section; the scan is lost when none can be made out.
 * Returns whether the header is sound. */
static bool header_take(struct scan *scan, struct lb_span body, struct lb_error *error) {
  bool opened = body.at[0] == '[';
  const char *close = memchr(body.at, ']', body.length);
  size_t end = close ? (size_t)(close - body.at) : body.length;
  struct lb_span name = {body.at + opened, end - opened};
  bool swallows_key = !close && memchr(name.at, '=', name.length);
  bool fits = lb_line_fold(scan->section, name);
  bool named = scan->section[0] != '\0';
  scan->lost = !named || swallows_key || !lb_line_is_text(name, NULL);
  if (!fits)
    lb_error_set(error, LB_BAD_INPUT, "a section name of more than %d bytes; shorten it",
                 LB_NAME_MOST);
  else if (!named)
    lb_error_set(error, LB_BAD_INPUT, "a section without a name; write [name]");
  else if (!opened)
    lb_error_set(error, LB_BAD_INPUT, "a section header without '['; write [name]");
  else if (!close)
    lb_error_set(error, LB_BAD_INPUT, "a section header without ']'; write [name]");
  else if (end + 1 < body.length)
    lb_error_set(error, LB_BAD_INPUT,
                 "text after ']'; put it on a line of its own, or a blank and ';' before it");
  else
    return true;
  return false;
}

/* Read a header. One with a fault still names its section where it can, so that the keys below it
 * are not taken for another section's.
 * refused  the line has been reported for another fault */
static bool header_read(struct scan *scan, struct lb_span body, bool refused, char *buffer,
                        size_t size) {
  struct lb_error error;
  bool sound = header_take(scan, body, &error);
  if (!scan->lost && !section_enter(scan, body.at))
    return false;
  if (!sound && !refused)
    report(scan, NULL, &error);
  if (!sound || refused)
    hide(scan);
  if (scan->lost)
    return false;
  lb_format(buffer, size, "[%s]\n", scan->section);
  return true;
}

/* Write "key=" and as much of the value as inih has room for. A line end is always kept: without
 * one inih may take the next line for the rest of this one. */
static void key_hand(struct scan *scan, char *buffer, size_t size) {
  size_t used = strlen(scan->key) + sizeof "=\n";
  size_t room = size > used ? size - used : 0;
  size_t shown = scan->value.length < room ? scan->value.length : room;
  lb_format(buffer, size, "%s=%.*s\n", scan->key, (int)shown, scan->value.at);
  scan->handed++;
}

/* Read "key = value". */
static bool key_read(struct scan *scan, struct lb_span body, char *buffer, size_t size) {
  const char *equals = memchr(body.at, '=', body.length);
  struct lb_span key = {body.at, equals ? (size_t)(equals - body.at) : body.length};
  if (memchr(key.at, ':', key.length))
    return refuse(scan, NULL, "':' where '=' belongs; write key = value");
  if (!equals)
    return refuse(scan, NULL,
                  "neither [section] nor key = value; write one, or ';' before a comment");
  scan->value = lb_line_trimmed((struct lb_span){equals + 1, body.length - key.length - 1});
  if (lb_line_trimmed(key).length == 0)
    return refuse(scan, NULL, "no key before '='; write key = value");
  if (!lb_line_fold(scan->key, key))
    return refuse_long_key(scan);
  bool placed = !scan->lost && scan->section[0] != '\0';
  if (scan->value.length == 0)
    return refuse(scan, placed ? scan->key : NULL,
                  "no value after '='; write one or remove the line");
  if (scan->lost)
    return false;
  if (!placed)
    return refuse(scan, NULL, "a key before any section; write [section] above it");
  key_hand(scan, buffer, size);
  return true;
}

/* Refuse bytes that no line of text has. Too many such lines stop the reading. */
static bool refuse_foreign(struct scan *scan, struct lb_span line) {
  struct lb_error error;
  if (lb_line_is_text(line, &error))
    return false;
  report(scan, NULL, &error);
  scan->stopped = ++scan->foreign == FOREIGN_MOST;
  if (scan->stopped)
    refuse(scan, NULL,
           "too many such lines, and the rest was not read; give a plain text in UTF-8");
  return true;
}

/* Refuse a line whatever it says. Returns whether it did. */
static bool refuse_line(struct scan *scan, struct lb_span line, bool says_something) {
  struct lb_error error;
  if (refuse_foreign(scan, line))
    return true;
  if (line.length > LB_LINE_MOST) {
    lb_error_set(&error, LB_BAD_INPUT, "a line of %zu bytes; shorten it to %d", line.length,
                 LB_LINE_MOST);
    report(scan, NULL, &error);
    return true;
  }
  if (!says_something || !lb_line_is_blank(line.at[0]))
    return false;
  refuse(scan, NULL, "an indented line; start it at the left edge (a value has one line only)");
  return true;
}

/* Read one line. Returns true when there is something for inih in the buffer. */
static bool line_read(struct scan *scan, struct lb_span line, char *buffer, size_t size) {
  if (line.length > LB_LINE_HOPELESS) {
    scan->stopped = true;
    return refuse(scan, NULL, "a line without end, and the rest was not read; give a plain text");
  }
  struct lb_span body = lb_line_trimmed(lb_line_content(line));
  bool refused = refuse_line(scan, line, body.length > 0);
  if (body.length == 0)
    return false;
  if (body.at[0] == '[' || (!refused && lacks_opening(body)))
    return header_read(scan, body, refused, buffer, size);
  if (!refused && key_read(scan, body, buffer, size))
    return true;
  hide(scan);
  return false;
}

/* The next line without its line end, and the walk moved past it. */
static struct lb_span line_next(struct scan *scan) {
  const char *at = scan->text->bytes + scan->next;
  size_t left = scan->text->length - scan->next;
  const char *end = memchr(at, '\n', left);
  struct lb_span line = {at, end ? (size_t)(end - at) : left};
  scan->next += line.length + (end ? 1 : 0);
  scan->line++;
  if (end && line.length > 0 && at[line.length - 1] == '\r')
    line.length--;
  return line;
}

/* Stop at a text that is something else than a machine file. */
static void doubt(struct scan *scan) {
  if (scan->sound || scan->stopped || scan->faults < STRANGE_MOST)
    return;
  scan->stopped = true;
  refuse(scan, NULL,
         "none of these lines is sound, and the rest was not read; is this a machine file? "
         "lastbar start writes one");
}

/* inih's reader: the next line that says something, in a form it reads without surprises. */
static char *hand_line(char *buffer, int size, void *stream) {
  struct scan *scan = stream;
  while (scan->next < scan->text->length && !scan->stopped && !scan->no_memory) {
    if (line_read(scan, line_next(scan), buffer, (size_t)size)) {
      scan->sound = true;
      return buffer;
    }
    doubt(scan);
  }
  return NULL;
}

/* inih's handler: take the value of the line handed on last, whole, from the bytes. Names that came
 * back changed are not taken, and lb_textfile_scan then says so. */
static int take_value(void *user, const char *section, const char *key, const char *value) {
  struct scan *scan = user;
  struct lb_item fresh;
  struct lb_error error;
  if (strcmp(section, scan->section) != 0 || strcmp(key, scan->key) != 0 || !value)
    return 0;
  scan->received++;
  const struct lb_item *first = lb_items_find(&scan->text->entries, section, key);
  if (first) {
    lb_error_set(&error, LB_BAD_INPUT, "already given in line %d; keep one of the two",
                 first->entry.line);
    report(scan, key, &error);
    return 1;
  }
  scan->no_memory = !lb_textfile_prepare(&fresh, scan->text, section, key, scan->value);
  if (scan->no_memory)
    return 0;
  fresh.start = (size_t)(scan->value.at - scan->text->bytes);
  fresh.entry.line = scan->line;
  lb_items_add(&scan->text->entries, fresh);
  return 1;
}

static bool is_utf16(const struct lb_textfile *text) {
  return text->length >= 2 &&
         (memcmp(text->bytes, "\xFF\xFE", 2) == 0 || memcmp(text->bytes, "\xFE\xFF", 2) == 0);
}

enum lb_status lb_textfile_scan(struct lb_textfile *text, bool *usable, struct lb_errors *errors) {
  struct scan scan = {.text = text, .errors = errors, .next = lb_textfile_mark(text)};
  *usable = false;
  if (is_utf16(text)) {
    scan.line = 1;
    refuse(&scan, NULL, "a text in UTF-16; save it as UTF-8");
    return LB_BAD_INPUT;
  }
  int result = ini_parse_stream(hand_line, &scan, take_value, &scan);
  if (scan.no_memory || result < 0) {
    struct lb_error error;
    lb_textfile_no_memory(&error);
    report(&scan, NULL, &error);
    return LB_NO_MEMORY;
  }
  /* Only settings of inih that another part of the process changed can make these differ. */
  bool same = result == 0 && scan.handed == scan.received;
  if (!same)
    refuse(&scan, NULL, "inih read this text in another way; leave its settings as they were");
  *usable = same && !scan.stopped;
  return text->faulty ? LB_BAD_INPUT : LB_OK;
}
