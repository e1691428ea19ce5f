/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Sections, keys and values over one buffer of bytes.
 *
 * inih keeps the current section and splits keys from values, but never sees a line that it would
 * get wrong: the reader it is given walks the bytes, counts lines, refuses every fault of form, and
 * hands on only "[section]" and "key=value" with folded names, no comment, and short enough for its
 * buffer. The value itself is then taken from the bytes, where a line may be longer.
 *
 * Invariant: an item whose start is not NOWHERE has its text at bytes[start .. start + length),
 * before and after every change.
 */
#define _XOPEN_SOURCE 700 /* realpath */

#include "base/textfile.h"

#include <errno.h>
#include <fcntl.h>
#include <ini.h>
#include <signal.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define MEBIBYTE ((size_t)1024 * 1024)
#define TEXT_MOST_MEBIBYTES 64
#define TEXT_MOST (TEXT_MOST_MEBIBYTES * MEBIBYTE)
#define LINE_HOPELESS MEBIBYTE    /* a line this long ends the reading: input without end */
#define CHUNK ((size_t)64 * 1024) /* bytes asked for at a time */
#define NOWHERE SIZE_MAX

enum {
  NAME_MOST = 49,    /* bytes of a section or key name; inih keeps no more of a section */
  FOREIGN_MOST = 20, /* lines that are not text before the reading stops */
  REASON_MOST = 128, /* bytes of the system's reason in a message */
  SLOTS_LEAST = 16,  /* a power of two */
  NOT_ORDINARY = -1  /* beside the system's error numbers: a folder, a device, a pipe */
};

/* Part of a text, not ended by NUL. */
struct span {
  const char *at;
  size_t length;
};

/* A string that lives as long as the text. */
struct string {
  struct string *next;
  char text[];
};

/* A value, or a section (key and value empty, start at its first header). */
struct item {
  struct lb_entry entry;
  size_t start; /* in bytes; NOWHERE while only an override names it */
  size_t length;
};

/* Items in order, and an open hash table over their names. */
struct list {
  struct item *item;
  size_t count, capacity;
  size_t *slot; /* slot[slots], number of an item + 1, 0 when free; at most half full */
  size_t slots; /* a power of two */
};

struct lb_textfile {
  const char *name;
  char *bytes; /* bytes[length], then a NUL */
  size_t length;
  struct list entries, sections;
  struct string *strings;
};

/* One walk over the bytes. */
struct scan {
  struct lb_textfile *text;
  struct lb_errors *errors;
  size_t next;                 /* first byte of the next line */
  int line;                    /* number of the current line */
  struct span value;           /* of the line handed on last */
  char section[NAME_MOST + 1]; /* current section, "" before the first */
  char key[NAME_MOST + 1];     /* of the line handed on last */
  bool lost;                   /* the last header had no usable name: its keys belong nowhere */
  bool stopped;                /* nothing more is worth reading */
  int foreign;                 /* lines that are not text */
  size_t faults;
  size_t handed, received; /* key lines given to inih, and got back from it */
  bool no_memory;
};

static const char no_memory[] = "not enough memory for the text; free some and try again";
static const char comment_sign[] = ";#";

static bool is_blank(char c) {
  return c == ' ' || c == '\t';
}

static struct span trimmed(struct span s) {
  while (s.length > 0 && is_blank(s.at[0])) {
    s.at++;
    s.length--;
  }
  while (s.length > 0 && is_blank(s.at[s.length - 1]))
    s.length--;
  return s;
}

/* What stands before a comment, which begins at the start or after a blank. */
static struct span without_comment(struct span s) {
  for (size_t i = 0; i < s.length; i++)
    if (strchr(comment_sign, s.at[i]) && (i == 0 || is_blank(s.at[i - 1])))
      return (struct span){s.at, i};
  return s;
}

/* Lower case (ASCII; other letters stay), runs of blanks to one; false when it is too long. */
static bool fold(char name[NAME_MOST + 1], struct span s) {
  size_t n = 0;
  s = trimmed(s);
  for (size_t i = 0; i < s.length; i++) {
    char c = s.at[i];
    if (is_blank(c)) {
      if (is_blank(s.at[i - 1]))
        continue;
      c = ' ';
    }
    if (n == NAME_MOST) {
      name[0] = '\0';
      return false;
    }
    name[n++] = (char)(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
  }
  name[n] = '\0';
  return true;
}

/* The code point at s, and how many bytes it takes: 0 when it is no well-formed UTF-8. */
static size_t decode(uint32_t *code, struct span s) {
  static const uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000}; /* for each length: no overlong */
  const unsigned char *byte = (const unsigned char *)s.at;
  *code = byte[0];
  if (byte[0] < 0x80)
    return 1;
  size_t length = byte[0] >= 0xF0 ? 4 : byte[0] >= 0xE0 ? 3 : 2;
  if (byte[0] < 0xC0 || byte[0] > 0xF7 || length > s.length)
    return 0;
  *code = byte[0] & (0x7Fu >> length);
  for (size_t i = 1; i < length; i++) {
    if ((byte[i] & 0xC0) != 0x80)
      return 0;
    *code = *code << 6 | (byte[i] & 0x3F);
  }
  bool surrogate = *code >= 0xD800 && *code <= 0xDFFF;
  return *code < least[length] || *code > 0x10FFFF || surrogate ? 0 : length;
}

/* UTF-8 without control characters other than the tab. */
static bool is_text(struct span s, struct lb_error *error) {
  uint32_t code;
  for (size_t i = 0, n; i < s.length; i += n) {
    n = decode(&code, (struct span){s.at + i, s.length - i});
    if (n == 0)
      lb_error_set(error, LB_BAD_INPUT, "byte %zu (0x%02X) is not UTF-8; save the text as UTF-8",
                   i + 1, (unsigned)(unsigned char)s.at[i]);
    else if (code == 0)
      lb_error_set(error, LB_BAD_INPUT, "byte %zu is NUL; give a plain text", i + 1);
    else if (code == '\r')
      lb_error_set(error, LB_BAD_INPUT,
                   "byte %zu is a lone carriage return; end lines with LF or CR LF", i + 1);
    else if ((code < ' ' && code != '\t') || (code >= 0x7F && code < 0xA0))
      lb_error_set(error, LB_BAD_INPUT, "byte %zu is the control character U+%04X; remove it",
                   i + 1, (unsigned)code);
    else
      continue;
    return false;
  }
  return true;
}

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
static size_t *slot_of(const struct list *list, const char *section, const char *key) {
  size_t i = hash(section, key) & (list->slots - 1);
  for (; list->slot[i] > 0; i = (i + 1) & (list->slots - 1)) {
    const struct lb_entry *entry = &list->item[list->slot[i] - 1].entry;
    if (strcmp(entry->key, key) == 0 && strcmp(entry->section, section) == 0)
      break;
  }
  return &list->slot[i];
}

static struct item *list_find(const struct list *list, const char *section, const char *key) {
  size_t slot = list->slots ? *slot_of(list, section, key) : 0;
  return slot ? &list->item[slot - 1] : NULL;
}

/* Make room for one more, so that list_add cannot fail. */
static bool list_reserve(struct list *list) {
  if (list->count < list->capacity)
    return true;
  size_t slots = list->slots ? 2 * list->slots : SLOTS_LEAST;
  struct item *item = realloc(list->item, slots / 2 * sizeof *item);
  if (!item)
    return false;
  list->item = item;
  size_t *slot = calloc(slots, sizeof *slot);
  if (!slot)
    return false;
  free(list->slot);
  list->slot = slot;
  list->slots = slots;
  list->capacity = slots / 2;
  for (size_t i = 0; i < list->count; i++)
    *slot_of(list, item[i].entry.section, item[i].entry.key) = i + 1;
  return true;
}

static void list_add(struct list *list, struct item item) {
  size_t *slot = slot_of(list, item.entry.section, item.entry.key);
  list->item[list->count++] = item;
  *slot = list->count;
}

static void list_free(struct list *list) {
  free(list->item);
  free(list->slot);
}

static const char *keep(struct lb_textfile *text, struct span s) {
  struct string *string = malloc(sizeof *string + s.length + 1);
  if (!string)
    return NULL;
  memcpy(string->text, s.at, s.length);
  string->text[s.length] = '\0';
  string->next = text->strings;
  text->strings = string;
  return string->text;
}

static const char *keep_name(struct lb_textfile *text, const char *name) {
  return keep(text, (struct span){name, strlen(name)});
}

/* Get everything a new value needs, so that putting it in afterwards cannot fail. */
static bool entry_prepare(struct item *fresh, struct lb_textfile *text, const char *section,
                          const char *key, struct span value) {
  const struct item *known = list_find(&text->sections, section, "");
  struct lb_entry *entry = &fresh->entry;
  *fresh = (struct item){.start = NOWHERE, .length = value.length};
  entry->section = known ? known->entry.section : keep_name(text, section);
  entry->key = keep_name(text, key);
  entry->value = keep(text, value);
  return entry->section && entry->key && entry->value && list_reserve(&text->entries) &&
         list_reserve(&text->sections);
}

/* Put in a section that entry_prepare or the caller has made room for. */
static void section_add(struct lb_textfile *text, const char *name, size_t start, int line) {
  struct lb_entry entry = {.section = name, .key = "", .value = "", .line = line};
  list_add(&text->sections, (struct item){.entry = entry, .start = start});
}

/* Say where an error stands. */
static void locate(struct lb_error *error, const char *file, int line, const char *section,
                   const char *key) {
  if (!error)
    return;
  error->file = file;
  error->line = line;
  if (key)
    snprintf(error->key, sizeof error->key, "[%s] %s", section, key);
}

/* Report a fault of the current line; key may be NULL. */
static void report(struct scan *scan, const char *key, struct lb_error *error) {
  locate(error, scan->text->name, scan->line, scan->section, key);
  lb_errors_add(scan->errors, error);
  scan->faults++;
}

static bool refuse(struct scan *scan, const char *key, const char *message) {
  struct lb_error error;
  lb_error_set(&error, LB_BAD_INPUT, "%s", message);
  report(scan, key, &error);
  return false;
}

static bool refuse_length(struct scan *scan, const char *what) {
  struct lb_error error;
  lb_error_set(&error, LB_BAD_INPUT, "a %s of more than %d bytes; shorten it", what, NAME_MOST);
  report(scan, NULL, &error);
  return false;
}

/* Make a header's section the current one. Returns true when inih is to hear of it. */
static bool section_enter(struct scan *scan, const char *header) {
  struct lb_textfile *text = scan->text;
  scan->lost = false;
  if (list_find(&text->sections, scan->section, ""))
    return true;
  const char *name = keep_name(text, scan->section);
  scan->no_memory = !name || !list_reserve(&text->sections);
  if (scan->no_memory)
    return false;
  section_add(text, name, (size_t)(header - text->bytes), scan->line);
  return true;
}

/* Read "[name]". A header with a fault still names its section where it can, so that the keys below
 * it are not taken for doubles of another section's. */
static bool header_read(struct scan *scan, struct span body, char *buffer, size_t size) {
  const char *close = memchr(body.at, ']', body.length);
  struct span name = {body.at + 1, close ? (size_t)(close - body.at) - 1 : body.length - 1};
  struct span rest = {close, close ? body.length - name.length - 1 : 0};
  const char *fault =
      !close ? "a section header without ']'; write [name]"
      : rest.length > 1
          ? "text after ']'; put it on a line of its own, or a blank and ';' before it"
          : NULL;
  scan->lost = true;
  if (trimmed(name).length == 0)
    return refuse(scan, NULL, "a section without a name; write [name]");
  if (!fold(scan->section, name))
    return refuse_length(scan, "section name");
  if (fault)
    refuse(scan, NULL, fault);
  if (!section_enter(scan, body.at))
    return false;
  snprintf(buffer, size, "[%s]\n", scan->section);
  return true;
}

/* Write "key=" and as much of the value as inih has room for. A line end is always kept: without
 * one inih may take the next line for the rest of this one. */
static void key_hand(struct scan *scan, char *buffer, size_t size) {
  size_t used = strlen(scan->key) + sizeof "=\n";
  size_t room = size > used ? size - used : 0;
  size_t shown = scan->value.length < room ? scan->value.length : room;
  snprintf(buffer, size, "%s=%.*s\n", scan->key, (int)shown, scan->value.at);
  scan->handed++;
}

/* Read "key = value". */
static bool key_read(struct scan *scan, struct span body, char *buffer, size_t size) {
  const char *equals = memchr(body.at, '=', body.length);
  struct span key = {body.at, equals ? (size_t)(equals - body.at) : body.length};
  if (memchr(key.at, ':', key.length))
    return refuse(scan, NULL, "':' where '=' belongs; write key = value");
  if (!equals)
    return refuse(scan, NULL,
                  "neither [section] nor key = value; write one, or ';' before a comment");
  scan->value = trimmed((struct span){equals + 1, body.length - key.length - 1});
  if (trimmed(key).length == 0)
    return refuse(scan, NULL, "no key before '='; write key = value");
  if (!fold(scan->key, key))
    return refuse_length(scan, "key");
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

/* Bytes that no line of text has. Too many such lines, or one without end, stop the reading. */
static bool line_is_foreign(struct scan *scan, struct span line) {
  struct lb_error error;
  if (line.length > LINE_HOPELESS) {
    scan->stopped = true;
    refuse(scan, NULL, "a line without end, and the rest was not read; give a plain text");
    return true;
  }
  if (is_text(line, &error))
    return false;
  report(scan, NULL, &error);
  scan->stopped = ++scan->foreign == FOREIGN_MOST;
  if (scan->stopped)
    refuse(scan, NULL,
           "too many such lines, and the rest was not read; give a plain text in UTF-8");
  return true;
}

/* Read one line. Returns true when there is something for inih in the buffer. */
static bool line_read(struct scan *scan, struct span line, char *buffer, size_t size) {
  struct lb_error error;
  if (line_is_foreign(scan, line))
    return false;
  if (line.length > LB_LINE_MOST) {
    lb_error_set(&error, LB_BAD_INPUT, "a line of %zu bytes; shorten it to %d", line.length,
                 LB_LINE_MOST);
    report(scan, NULL, &error);
    return false;
  }
  struct span body = trimmed(without_comment(line));
  if (body.length == 0)
    return false;
  if (is_blank(line.at[0]))
    return refuse(scan, NULL,
                  "an indented line; start it at the left edge (a value has one line only)");
  return body.at[0] == '[' ? header_read(scan, body, buffer, size)
                           : key_read(scan, body, buffer, size);
}

/* The next line without its line end, and the walk moved past it. */
static struct span line_next(struct scan *scan) {
  const char *at = scan->text->bytes + scan->next;
  size_t left = scan->text->length - scan->next;
  const char *end = memchr(at, '\n', left);
  struct span line = {at, end ? (size_t)(end - at) : left};
  scan->next += line.length + (end ? 1 : 0);
  scan->line++;
  if (end && line.length > 0 && at[line.length - 1] == '\r')
    line.length--;
  return line;
}

/* inih's reader: the next line that says something, in a form it reads without surprises. */
static char *hand_line(char *buffer, int size, void *stream) {
  struct scan *scan = stream;
  while (scan->next < scan->text->length && !scan->stopped && !scan->no_memory)
    if (line_read(scan, line_next(scan), buffer, (size_t)size))
      return buffer;
  return NULL;
}

/* inih's handler: take the value of the line handed on last, whole, from the bytes. Names that came
 * back changed are not taken, and scan_text then says so. */
static int take_value(void *user, const char *section, const char *key, const char *value) {
  struct scan *scan = user;
  struct item fresh;
  struct lb_error error;
  if (strcmp(section, scan->section) != 0 || strcmp(key, scan->key) != 0 || !value)
    return 0;
  scan->received++;
  const struct item *first = list_find(&scan->text->entries, section, key);
  if (first) {
    lb_error_set(&error, LB_BAD_INPUT, "already given in line %d; keep one of the two",
                 first->entry.line);
    report(scan, key, &error);
    return 1;
  }
  scan->no_memory = !entry_prepare(&fresh, scan->text, section, key, scan->value);
  if (scan->no_memory)
    return 0;
  fresh.start = (size_t)(scan->value.at - scan->text->bytes);
  fresh.entry.line = scan->line;
  list_add(&scan->text->entries, fresh);
  return 1;
}

/* The bytes before the text proper: a byte order mark of UTF-8. */
static size_t mark_length(const struct lb_textfile *text) {
  static const char mark[] = "\xEF\xBB\xBF";
  bool marked = text->length >= strlen(mark) && memcmp(text->bytes, mark, strlen(mark)) == 0;
  return marked ? strlen(mark) : 0;
}

static bool is_utf16(const struct lb_textfile *text) {
  return text->length >= 2 &&
         (memcmp(text->bytes, "\xFF\xFE", 2) == 0 || memcmp(text->bytes, "\xFE\xFF", 2) == 0);
}

/* Fill the lists from the bytes. */
static enum lb_status scan_text(struct lb_textfile *text, struct lb_errors *errors) {
  struct scan scan = {.text = text, .errors = errors, .next = mark_length(text)};
  if (is_utf16(text)) {
    scan.line = 1;
    refuse(&scan, NULL, "a text in UTF-16; save it as UTF-8");
    return LB_BAD_INPUT;
  }
  int result = ini_parse_stream(hand_line, &scan, take_value, &scan);
  if (scan.no_memory || result < 0) {
    struct lb_error error;
    lb_error_set(&error, LB_NO_MEMORY, "%s", no_memory);
    report(&scan, NULL, &error);
    return LB_NO_MEMORY;
  }
  /* Only settings of inih that another part of the process changed can lead here. */
  if (result > 0 || scan.handed != scan.received)
    refuse(&scan, NULL, "inih read this text in another way; leave its settings as they were");
  return scan.faults > 0 ? LB_BAD_INPUT : LB_OK;
}

/* Say that the system refused. */
static void system_error(struct lb_error *error, const char *what, int number) {
  char reason[REASON_MOST];
  if (strerror_r(number, reason, sizeof reason) != 0)
    snprintf(reason, sizeof reason, "error %d", number);
  lb_error_set(error, LB_IO, "%s (%s); check the name and the rights to it", what, reason);
}

/* Say why a whole text could not be taken; returns the status. number is the system's. */
static enum lb_status input_error(struct lb_errors *errors, const char *name, enum lb_status status,
                                  int number) {
  struct lb_error error;
  if (status == LB_IO)
    system_error(&error, "cannot be read", number);
  else if (status == LB_BAD_INPUT)
    lb_error_set(&error, status, "more than %d MiB; give a plain text", TEXT_MOST_MEBIBYTES);
  else
    lb_error_set(&error, status, "%s", no_memory);
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
  enum lb_status status = scan_text(text, errors);
  if (status == LB_OK)
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
  for (size_t got = CHUNK; got == CHUNK && in->length - in->line <= LINE_HOPELESS;) {
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
  if (!text)
    return;
  list_free(&text->entries);
  list_free(&text->sections);
  while (text->strings) {
    struct string *next = text->strings->next;
    free(text->strings);
    text->strings = next;
  }
  free(text->bytes);
  free(text);
}

/* Fold a name that is to stand in the text, and refuse what could not be read back from there.
 * what       "section" or "key", for messages
 * forbidden  bytes it cannot hold */
static bool name_check(char folded[NAME_MOST + 1], struct span name, const char *what,
                       const char *forbidden, struct lb_error *error) {
  name = trimmed(name);
  if (!is_text(name, error))
    return false;
  if (name.length == 0) {
    lb_error_set(error, LB_BAD_INPUT, "no %s; name one", what);
    return false;
  }
  if (!fold(folded, name)) {
    lb_error_set(error, LB_BAD_INPUT, "a %s name of more than %d bytes; shorten it", what,
                 NAME_MOST);
    return false;
  }
  if (strpbrk(folded, forbidden) || without_comment(name).length < name.length) {
    lb_error_set(error, LB_BAD_INPUT, "'%s' cannot be a %s name; use letters, digits and blanks",
                 folded, what);
    return false;
  }
  return true;
}

static bool section_check(char folded[NAME_MOST + 1], struct span name, struct lb_error *error) {
  return name_check(folded, name, "section", "[]", error);
}

static bool key_check(char folded[NAME_MOST + 1], struct span name, struct lb_error *error) {
  return name_check(folded, name, "key", "[]=:", error);
}

/* Trim a value and refuse what could not be read back. */
static bool value_check(struct span *value, const char *given, struct lb_error *error) {
  *value = trimmed((struct span){given, strlen(given)});
  if (!is_text(*value, error))
    return false;
  if (value->length == 0)
    lb_error_set(error, LB_BAD_INPUT, "an empty value; give one");
  else if (value->length > LB_LINE_MOST)
    lb_error_set(error, LB_BAD_INPUT, "a value of %zu bytes; shorten it to %d", value->length,
                 LB_LINE_MOST);
  else if (without_comment(*value).length < value->length)
    lb_error_set(error, LB_BAD_INPUT,
                 "';' or '#' at the start or after a blank would begin a comment; leave it out");
  else
    return true;
  return false;
}

/* Split "section.key=value" and check its parts; key_known tells how far it came. */
static bool assignment_split(char section[NAME_MOST + 1], char key[NAME_MOST + 1],
                             struct span *value, bool *key_known, const char *assignment,
                             struct lb_error *error) {
  const char *equals = strchr(assignment, '='), *dot = equals;
  *key_known = false;
  if (!is_text((struct span){assignment, strlen(assignment)}, error))
    return false;
  while (dot && dot > assignment && *dot != '.')
    dot--;
  if (!dot || *dot != '.') {
    lb_error_set(error, LB_BAD_INPUT, "no '%s' in '%s'; write section.key=value",
                 equals ? "." : "=", assignment);
    return false;
  }
  *key_known =
      section_check(section, (struct span){assignment, (size_t)(dot - assignment)}, error) &&
      key_check(key, (struct span){dot + 1, (size_t)(equals - dot) - 1}, error);
  return *key_known && value_check(value, equals + 1, error);
}

/* Put an override in, of an entry that may be there already. */
static enum lb_status override_put(struct lb_textfile *text, const char *section, const char *key,
                                   struct span value, int number, struct lb_error *error) {
  struct item *old = list_find(&text->entries, section, key);
  if (old && old->entry.set > 0)
    return lb_error_set(error, LB_BAD_INPUT, "already set by override %d; keep one of the two",
                        old->entry.set);
  struct item fresh;
  if (!entry_prepare(&fresh, text, section, key, value))
    return lb_error_set(error, LB_NO_MEMORY, "%s", no_memory);
  fresh.entry.set = number;
  if (!list_find(&text->sections, section, ""))
    section_add(text, fresh.entry.section, NOWHERE, 0);
  old = list_find(&text->entries, section, key);
  if (old)
    old->entry = fresh.entry;
  else
    list_add(&text->entries, fresh);
  return LB_OK;
}

enum lb_status lb_textfile_override(struct lb_textfile *text, const char *assignment, int number,
                                    struct lb_errors *errors) {
  char section[NAME_MOST + 1], key[NAME_MOST + 1];
  struct span value;
  struct lb_error error;
  bool key_known;
  enum lb_status status = LB_BAD_INPUT;
  if (assignment_split(section, key, &value, &key_known, assignment, &error))
    status = override_put(text, section, key, value, number, &error);
  if (status == LB_OK)
    return LB_OK;
  locate(&error, NULL, 0, section, key_known ? key : NULL);
  error.set = number;
  lb_errors_add(errors, &error);
  return status;
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
  const struct item *item = list_find(&text->entries, section, key);
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

static int newlines(const char *bytes, size_t length) {
  int count = 0;
  for (size_t i = 0; i < length; i++)
    count += bytes[i] == '\n';
  return count;
}

/* Move what stands at or behind a place, after `removed` bytes gave way to `added` ones. */
static void list_shift(struct list *list, size_t from, size_t removed, size_t added, int lines) {
  for (size_t i = 0; i < list->count; i++) {
    struct item *item = &list->item[i];
    if (item->start == NOWHERE || item->start < from)
      continue;
    item->start = item->start - removed + added;
    if (item->entry.line > 0)
      item->entry.line += lines;
  }
}

/* Put `with` in place of the `removed` bytes at a place; none of those is a line end. */
static bool splice(struct lb_textfile *text, size_t at, size_t removed, struct span with) {
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
  list_shift(&text->entries, behind, removed, with.length, lines);
  list_shift(&text->sections, behind, removed, with.length, lines);
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
static enum lb_status value_replace(struct lb_textfile *text, struct item *item, struct span value,
                                    struct lb_error *error) {
  size_t line = line_end(text, item->start) - line_start(text, item->start);
  line = line - item->length + value.length;
  if (line > LB_LINE_MOST)
    return too_long(error, line);
  const char *kept = keep(text, value);
  if (!kept || !splice(text, item->start, item->length, value))
    return lb_error_set(error, LB_NO_MEMORY, "%s", no_memory);
  item->length = value.length;
  if (item->entry.set == 0)
    item->entry.value = kept;
  return LB_OK;
}

/* Lines to be added to the text. */
struct addition {
  size_t at;
  char bytes[2 * NAME_MOST + LB_LINE_MOST + sizeof "\r\n\r\n[]\r\n = \r\n"];
  size_t length;
  size_t header, value; /* where in bytes they begin; header NOWHERE when it has none */
};

/* The last place of a section in the text: of its last value, or its header; NOWHERE without. */
static size_t section_last(const struct lb_textfile *text, const char *section) {
  const struct item *header = list_find(&text->sections, section, "");
  if (!header || header->start == NOWHERE)
    return NOWHERE;
  size_t last = header->start;
  for (size_t i = 0; i < text->entries.count; i++) {
    const struct item *item = &text->entries.item[i];
    if (item->entry.section == header->entry.section && item->start != NOWHERE &&
        item->start > last)
      last = item->start;
  }
  return last;
}

/* A line below the last of its section, or a header and a line at the end. A text whose last line
 * has no end keeps it so. */
static void addition_lay(struct addition *add, const struct lb_textfile *text, const char *section,
                         const char *key, struct span value) {
  const char *ending = line_ending(text);
  size_t last = section_last(text, section);
  bool empty = text->length == mark_length(text);
  bool ended = empty || text->bytes[text->length - 1] == '\n';
  int used;
  *add = (struct addition){.at = text->length, .header = NOWHERE};
  if (last != NOWHERE) {
    add->at = line_end(text, last);
    used = snprintf(add->bytes, sizeof add->bytes, "%s%s = ", ending, key);
    ended = false;
  } else {
    used =
        snprintf(add->bytes, sizeof add->bytes, "%s%s", ended ? "" : ending, empty ? "" : ending);
    add->header = (size_t)used;
    used += snprintf(add->bytes + used, sizeof add->bytes - (size_t)used, "[%s]%s%s = ", section,
                     ending, key);
  }
  add->value = (size_t)used;
  used += snprintf(add->bytes + used, sizeof add->bytes - (size_t)used, "%.*s%s", (int)value.length,
                   value.at, ended ? ending : "");
  add->length = (size_t)used;
}

/* Tell the lists of a line that is in the bytes now. */
static void addition_note(struct lb_textfile *text, const struct addition *add, struct item fresh) {
  const char *section = fresh.entry.section;
  if (!list_find(&text->sections, section, ""))
    section_add(text, section, NOWHERE, 0);
  if (add->header != NOWHERE) {
    struct item *header = list_find(&text->sections, section, "");
    header->start = add->at + add->header;
    header->entry.line = 1 + newlines(text->bytes, header->start);
  }
  fresh.start = add->at + add->value;
  fresh.entry.line = 1 + newlines(text->bytes, fresh.start);
  struct item *overridden = list_find(&text->entries, section, fresh.entry.key);
  if (!overridden) {
    list_add(&text->entries, fresh);
  } else {
    overridden->start = fresh.start;
    overridden->length = fresh.length;
  }
}

static enum lb_status value_append(struct lb_textfile *text, const char *section, const char *key,
                                   struct span value, struct lb_error *error) {
  struct addition add;
  struct item fresh;
  size_t line = strlen(key) + strlen(" = ") + value.length;
  if (line > LB_LINE_MOST)
    return too_long(error, line);
  addition_lay(&add, text, section, key, value);
  if (!entry_prepare(&fresh, text, section, key, value) ||
      !splice(text, add.at, 0, (struct span){add.bytes, add.length}))
    return lb_error_set(error, LB_NO_MEMORY, "%s", no_memory);
  addition_note(text, &add, fresh);
  return LB_OK;
}

enum lb_status lb_textfile_change(struct lb_textfile *text, const char *section, const char *key,
                                  const char *value, struct lb_error *error) {
  char section_name[NAME_MOST + 1], key_name[NAME_MOST + 1];
  struct span checked;
  if (!section_check(section_name, (struct span){section, strlen(section)}, error) ||
      !key_check(key_name, (struct span){key, strlen(key)}, error)) {
    locate(error, text->name, 0, NULL, NULL);
    return LB_BAD_INPUT;
  }
  struct item *item = list_find(&text->entries, section_name, key_name);
  int line = item ? item->entry.line : 0;
  enum lb_status status = LB_BAD_INPUT;
  if (value_check(&checked, value, error))
    status = item && item->start != NOWHERE
                 ? value_replace(text, item, checked, error)
                 : value_append(text, section_name, key_name, checked, error);
  if (status != LB_OK)
    locate(error, text->name, line, section_name, key_name);
  return status;
}

const char *lb_textfile_bytes(const struct lb_textfile *text, size_t *length) {
  *length = text->length;
  return text->bytes;
}

/* Open a new file of an unpredictable name; the template in path becomes that name. With an old
 * file to replace it gets its mode, else the one that any new file of this process gets: only the
 * system can say which, so the name is given back and taken again. */
static int draft_open(char *path, const struct stat *old) {
  const mode_t everyone = S_IRUSR | S_IWUSR | S_IRGRP | S_IWGRP | S_IROTH | S_IWOTH;
  int file = mkstemp(path);
  if (file < 0)
    return -1;
  if (old && fchmod(file, old->st_mode & (S_IRWXU | S_IRWXG | S_IRWXO)) == 0)
    return file;
  int number = errno;
  close(file);
  unlink(path);
  errno = number;
  return old ? -1 : open(path, O_WRONLY | O_CREAT | O_EXCL, everyone);
}

static bool write_all(int file, const char *bytes, size_t length) {
  while (length > 0) {
    ssize_t written = write(file, bytes, length);
    if (written < 0 && errno != EINTR)
      return false;
    if (written > 0) {
      bytes += written;
      length -= (size_t)written;
    }
  }
  return fsync(file) == 0;
}

/* Fill the draft and let it take the place of the target; 0 or the system's error number, and then
 * the draft is gone. */
static int draft_finish(int file, const char *draft, const char *target, const char *bytes,
                        size_t length) {
  int number = write_all(file, bytes, length) ? 0 : errno;
  if (close(file) != 0 && number == 0)
    number = errno;
  if (number == 0 && rename(draft, target) != 0)
    number = errno;
  if (number != 0)
    unlink(draft);
  return number;
}

/* 0, the system's error number, or NOT_ORDINARY. */
static int target_write(const char *target, const char *bytes, size_t length) {
  static const char pattern[] = ".lastbar-XXXXXX";
  struct stat old;
  bool exists = stat(target, &old) == 0;
  if (exists && !S_ISREG(old.st_mode))
    return NOT_ORDINARY;
  const char *slash = strrchr(target, '/');
  size_t folder = slash ? (size_t)(slash - target) + 1 : 0;
  char *draft = malloc(folder + sizeof pattern);
  if (!draft)
    return ENOMEM;
  memcpy(draft, target, folder);
  memcpy(draft + folder, pattern, sizeof pattern);
  int file = draft_open(draft, exists ? &old : NULL);
  int number = file < 0 ? errno : draft_finish(file, draft, target, bytes, length);
  free(draft);
  return number;
}

/* A link is followed, so that it stays one. An interruption waits until the draft is gone. */
enum lb_status lb_textfile_save(const char *path, const char *bytes, size_t length,
                                struct lb_error *error) {
  sigset_t interruptions, before;
  sigemptyset(&interruptions);
  sigaddset(&interruptions, SIGINT);
  sigaddset(&interruptions, SIGTERM);
  sigaddset(&interruptions, SIGHUP);
  pthread_sigmask(SIG_BLOCK, &interruptions, &before);
  char *target = realpath(path, NULL);
  int number = target_write(target ? target : path, bytes, length);
  free(target);
  pthread_sigmask(SIG_SETMASK, &before, NULL);
  if (number == 0)
    return LB_OK;
  system_error(error, "cannot be written", number);
  if (number == NOT_ORDINARY)
    lb_error_set(error, LB_IO, "not an ordinary file; give the name of one");
  locate(error, path, 0, NULL, NULL);
  return LB_IO;
}
