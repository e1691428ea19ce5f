/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The text of sections and keys: every rule of form with its message, what is left of a text
 * with faults, and write-back byte by byte.
 */
#include "base/textfile.h"
#include "support.h"

#include <dirent.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define MARK "\xEF\xBB\xBF"
#define NAME_49 "a123456789b123456789c123456789d123456789e12345678"

enum {
  NOBODY = 65534, /* a user without rights, for tests run as root */
  MANY = 100000
};

static const char text_name[] = "a.ini"; /* compared by address: names are kept by reference */

/* Parse what must be accepted. */
static struct lb_textfile *parse(const char *bytes, size_t length) {
  struct lb_textfile *text;
  struct lb_errors errors = {0};
  enum lb_status status = lb_textfile_parse(&text, text_name, bytes, length, &errors);
  if (status != LB_OK)
    ck_abort_msg("line %d: %s %s", errors.item[0].line, errors.item[0].key, errors.item[0].text);
  ck_assert_uint_eq(errors.count, 0);
  return text;
}

static struct lb_textfile *parse_string(const char *string) {
  return parse(string, strlen(string));
}

static void check_bytes(const struct lb_textfile *text, const char *expected) {
  size_t length;
  const char *bytes = lb_textfile_bytes(text, &length);
  ck_assert_str_eq(bytes, expected);
  ck_assert_uint_eq(length, strlen(expected));
}

static void check_value(const struct lb_textfile *text, const char *section, const char *key,
                        const char *value, int line, int set) {
  const struct lb_entry *entry = lb_textfile_find(text, section, key);
  ck_assert_msg(entry != NULL, "[%s] %s is missing", section, key);
  ck_assert_str_eq(entry->section, section);
  ck_assert_str_eq(entry->key, key);
  ck_assert_str_eq(entry->value, value);
  ck_assert_int_eq(entry->line, line);
  ck_assert_int_eq(entry->set, set);
}

static void check_error(const struct lb_error *error, int line, const char *key,
                        const char *message) {
  ck_assert_str_eq(error->text, message);
  ck_assert_int_eq(error->status, LB_BAD_INPUT);
  ck_assert_ptr_eq(error->file, text_name);
  ck_assert_int_eq(error->line, line);
  ck_assert_int_eq(error->set, 0);
  ck_assert_str_eq(error->key, key);
}

/* Parse what must be refused with these errors only. Returns what is left of the text, if any. */
struct fault {
  int line;
  const char *key, *message;
};

static struct lb_textfile *refused(const char *bytes, size_t length, const struct fault *fault,
                                   size_t count) {
  struct lb_textfile *text = (struct lb_textfile *)&text;
  struct lb_errors errors = {0};
  ck_assert_int_eq(lb_textfile_parse(&text, text_name, bytes, length, &errors), LB_BAD_INPUT);
  for (size_t i = 0; i < count && i < errors.count; i++)
    check_error(&errors.item[i], fault[i].line, fault[i].key, fault[i].message);
  ck_assert_uint_eq(errors.count, count);
  lb_errors_free(&errors);
  return text;
}

/* Refused, and something is left. */
static void check_faults(const char *bytes, size_t length, const struct fault *fault,
                         size_t count) {
  struct lb_textfile *text = refused(bytes, length, fault, count);
  ck_assert_ptr_nonnull(text);
  lb_textfile_free(text);
}

/* Refused, and nothing is left. */
static void check_no_text(const char *bytes, size_t length, const struct fault *fault,
                          size_t count) {
  ck_assert_ptr_null(refused(bytes, length, fault, count));
}

START_TEST(test_value_is_read) {
  static const struct {
    const char *line, *key, *value;
  } row[] = {
      {"bore = 50 mm", "bore", "50 mm"},
      {"bore=50 mm", "bore", "50 mm"},
      {"bore\t=\t50 mm\t ", "bore", "50 mm"},
      {"Piston  \t Rod = 20 mm", "piston rod", "20 mm"},
      {"bore = 50 mm ; as measured", "bore", "50 mm"},
      {"bore = 50 mm\t# as measured", "bore", "50 mm"},
      {"bore = 50 mm;odd # as measured", "bore", "50 mm;odd"},
      {"name = No.#4; red", "name", "No.#4; red"},
      {"name =#4", "name", "#4"},
      {"name =;4", "name", ";4"},
      {"name = \"a  b\"", "name", "\"a  b\""},
      {"bore = 2\"", "bore", "2\""},
      {"name = a:b = c", "name", "a:b = c"},
      {"name = [a]", "name", "[a]"},
      {"cut-off = 40 % of stroke", "cut-off", "40 % of stroke"},
      {"a;b#c = 1", "a;b#c", "1"},
      {"H\xC3\x96HE = 1", "h\xC3\x96he", "1"},
      {"name = \xE2\x88\x92\xF0\x9F\x9A\x82\xC2\xA0", "name",
       "\xE2\x88\x92\xF0\x9F\x9A\x82\xC2\xA0"},
      {NAME_49 "                = 1", NAME_49, "1"},
  };
  static const char *const frame[] = {"[s]\n%s\n", "[s]\r\n%s\r\n", MARK "[s]\n%s", "[s]\n%s"};
  size_t seen = 0;
  for (size_t i = 0; i < COUNT(row); i++)
    for (size_t j = 0; j < COUNT(frame); j++, seen++) {
      char bytes[256];
      snprintf(bytes, sizeof bytes, frame[j], row[i].line);
      struct lb_textfile *text = parse_string(bytes);
      ck_assert_uint_eq(lb_textfile_count(text), 1);
      check_value(text, "s", row[i].key, row[i].value, 2, 0);
      check_bytes(text, bytes);
      lb_textfile_free(text);
    }
  ck_assert_uint_eq(seen, 19 * 4);
}
END_TEST

/* Texts with one fault each. */
static const struct {
  const char *bytes;
  size_t length;
  struct fault fault;
} faulty[] = {
#define ROW(bytes, line, key, message)                                                             \
  {                                                                                                \
    bytes, sizeof(bytes) - 1, {                                                                    \
      line, key, message                                                                           \
    }                                                                                              \
  }
    ROW("[s]\nbore 50 mm\n", 2, "",
        "neither [section] nor key = value; write one, or ';' before a comment"),
    ROW("[s]\nbore ; = 50 mm\n", 2, "",
        "neither [section] nor key = value; write one, or ';' before a comment"),
    ROW("[s]\nbore: 50 mm\n", 2, "", "':' where '=' belongs; write key = value"),
    ROW("[s]\nbore : a = 50 mm\n", 2, "", "':' where '=' belongs; write key = value"),
    ROW("[s]\n= 50 mm\n", 2, "", "no key before '='; write key = value"),
    ROW("[s]\nbore =\n", 2, "[s] bore", "no value after '='; write one or remove the line"),
    ROW("[s]\nbore = ; 50 mm\n", 2, "[s] bore", "no value after '='; write one or remove the line"),
    ROW("[s]\n" NAME_49 "x = 50 mm\n", 2, "", "a key of more than 49 bytes; shorten it"),
    ROW("[s]\nbore = 50 mm\n  60 mm\n", 3, "",
        "an indented line; start it at the left edge (a value has one line only)"),
    ROW("[s]\n\tbore = 50 mm\n", 2, "",
        "an indented line; start it at the left edge (a value has one line only)"),
    ROW(" [s]\n", 1, "", "an indented line; start it at the left edge (a value has one line only)"),
    ROW("\nbore = 50 mm\n[s]\n", 2, "", "a key before any section; write [section] above it"),
    ROW("[s\nbore = 50 mm\n", 1, "", "a section header without ']'; write [name]"),
    ROW("[s ;]\nbore = 50 mm\n", 1, "", "a section header without ']'; write [name]"),
    ROW("[s] bore = 50 mm\n", 1, "",
        "text after ']'; put it on a line of its own, or a blank and ';' before it"),
    ROW("[s];\n", 1, "",
        "text after ']'; put it on a line of its own, or a blank and ';' before it"),
    ROW("[]\nbore = 50 mm\n", 1, "", "a section without a name; write [name]"),
    ROW("[ \t] x\n", 1, "", "a section without a name; write [name]"),
    ROW("[", 1, "", "a section without a name; write [name]"),
    ROW("[" NAME_49 "x]\nbore = 50 mm\n", 1, "",
        "a section name of more than 49 bytes; shorten it"),
    ROW("[s]\nbore = 50 mm\n\nBORE = 60 mm\n", 4, "[s] bore",
        "already given in line 2; keep one of the two"),
    ROW("[s]\nbore = 1\n[t]\nbore = 2\n[ S ]\nbore = 3\n", 6, "[s] bore",
        "already given in line 2; keep one of the two"),
    ROW("[s]\nbore\0= 50 mm\n", 2, "", "byte 5 is NUL; give a plain text"),
    ROW("[s]\nbore = 50 mm ; \x07\n", 2, "", "byte 16 is the control character U+0007; remove it"),
    ROW("[s]\nbore = \x7F\n", 2, "", "byte 8 is the control character U+007F; remove it"),
    ROW("[s]\nbore = \xC2\x85\n", 2, "", "byte 8 is the control character U+0085; remove it"),
    ROW("[s]\nbore = 5\rstroke = 6\n", 2, "",
        "byte 9 is a lone carriage return; end lines with LF or CR LF"),
    ROW("[s]\r\r\n", 1, "", "byte 4 is a lone carriage return; end lines with LF or CR LF"),
    ROW("[s]\r", 1, "", "byte 4 is a lone carriage return; end lines with LF or CR LF"),
    ROW("s]\nbore = 50 mm\n", 1, "", "a section header without '['; write [name]"),
    ROW("]\nbore = 50 mm\n", 1, "", "a section without a name; write [name]"),
    ROW("[s]\nbore 50 [mm]\n", 2, "",
        "neither [section] nor key = value; write one, or ';' before a comment"),
    ROW("[s\xE9]\nbore = 50 mm\n", 1, "", "byte 3 (0xE9) is not UTF-8; save the text as UTF-8"),
#undef ROW
};

START_TEST(test_fault_is_refused) {
  ck_assert_uint_eq(COUNT(faulty), 33);
  for (size_t i = 0; i < COUNT(faulty); i++)
    check_faults(faulty[i].bytes, faulty[i].length, &faulty[i].fault, 1);
}
END_TEST

START_TEST(test_utf8_is_checked_in_full) {
  static const struct {
    const char *bytes;
    bool valid;
  } row[] = {
      {"\x80", false},
      {"\xBF", false},
      {"\xC0\xAF", false},
      {"\xC1\xBF", false},
      {"\xC2\xA0", true},
      {"\xDF\xBF", true},
      {"\xC3", false},
      {"\xC3(", false},
      {"\xE0\x9F\xBF", false},
      {"\xE0\xA0\x80", true},
      {"\xE2\x82", false},
      {"\xE2\x82(", false},
      {"\xED\x9F\xBF", true},
      {"\xED\xA0\x80", false},
      {"\xED\xBF\xBF", false},
      {"\xEE\x80\x80", true},
      {"\xEF\xBF\xBF", true},
      {"\xF0\x8F\xBF\xBF", false},
      {"\xF0\x9F\x9A", false},
      {"\xF0\x90\x80\x80", true},
      {"\xF4\x8F\xBF\xBF", true},
      {"\xF4\x90\x80\x80", false},
      {"\xF5\x80\x80\x80", false},
      {"\xF8\x88\x80\x80\x80", false},
      {"\xFE", false},
      {"\xFF", false},
  };
  ck_assert_uint_eq(COUNT(row), 26);
  for (size_t i = 0; i < COUNT(row); i++) {
    char bytes[64], message[128];
    snprintf(bytes, sizeof bytes, "[s]\na = %s", row[i].bytes);
    if (row[i].valid) {
      lb_textfile_free(parse_string(bytes));
      continue;
    }
    snprintf(message, sizeof message, "byte 5 (0x%02X) is not UTF-8; save the text as UTF-8",
             (unsigned)(unsigned char)row[i].bytes[0]);
    check_faults(bytes, strlen(bytes), &(struct fault){2, "", message}, 1);
  }
}
END_TEST

START_TEST(test_faults_come_together_in_order) {
  static const char bytes[] = "lost = 1\n"      /* 1 */
                              "[s]\n"           /* 2 */
                              "a = 1\n"         /* 3 */
                              "b\n"             /* 4 */
                              "[t\n"            /* 5: names [t] all the same, */
                              "a = 2\n"         /* so that this is no double; */
                              "a = 3\n"         /* 7: but this is */
                              "[]\n"            /* 8: names nothing, */
                              "a = 4\n"         /* so that these are neither */
                              "a = 5\n"         /* doubles nor outside a section; */
                              "a =\n"           /* 11: their form still counts */
                              "[s] ; again\r\n" /* 12 */
                              "A = 6\r\n"       /* 13 */
                              "c = \xE9\n"      /* 14 */
                              "d = 1\n";
  static const struct fault fault[] = {
      {1, "", "a key before any section; write [section] above it"},
      {4, "", "neither [section] nor key = value; write one, or ';' before a comment"},
      {5, "", "a section header without ']'; write [name]"},
      {7, "[t] a", "already given in line 6; keep one of the two"},
      {8, "", "a section without a name; write [name]"},
      {11, "", "no value after '='; write one or remove the line"},
      {13, "[s] a", "already given in line 3; keep one of the two"},
      {14, "", "byte 5 (0xE9) is not UTF-8; save the text as UTF-8"},
  };
  check_faults(bytes, sizeof bytes - 1, fault, COUNT(fault));
  struct lb_textfile *text;
  ck_assert_int_eq(lb_textfile_parse(&text, text_name, bytes, sizeof bytes - 1, NULL),
                   LB_BAD_INPUT);
  check_value(text, "s", "a", "1", 3, 0);
  check_value(text, "t", "a", "2", 6, 0);
  check_value(text, "s", "d", "1", 15, 0);
  ck_assert_uint_eq(lb_textfile_count(text), 3);
  lb_textfile_free(text);
}
END_TEST

/* "a = xxx…x" of a given length. */
static void long_line(char *line, size_t length, const char *start) {
  size_t used = strlen(start);
  memcpy(line, start, used);
  memset(line + used, 'x', length - used);
  line[length] = '\0';
}

START_TEST(test_lines_up_to_the_most) {
  static const size_t lengths[] = {198, 199, 200, 201, 999, LB_LINE_MOST};
  static const char *const ending[] = {"", "\n", "\r\n"};
  for (size_t i = 0; i < COUNT(lengths); i++)
    for (size_t j = 0; j < COUNT(ending); j++) {
      char line[LB_LINE_MOST + 1], comment[LB_LINE_MOST + 1], bytes[3 * LB_LINE_MOST];
      long_line(line, lengths[i], "a = ");
      long_line(comment, lengths[i], ";");
      snprintf(bytes, sizeof bytes, MARK "%s\n[s]\n%s\nb = 2 %.*s%s", comment, line,
               (int)lengths[i] - 6, comment, ending[j]);
      struct lb_textfile *text = parse_string(bytes);
      ck_assert_uint_eq(lb_textfile_count(text), 2);
      check_value(text, "s", "a", line + 4, 3, 0);
      check_value(text, "s", "b", "2", 4, 0);
      check_bytes(text, bytes);
      lb_textfile_free(text);
    }
}
END_TEST

START_TEST(test_line_over_the_most) {
  static const char *const start[] = {"a = ", ";", "[t] ;", "[", "a"};
  static const char *const ending[] = {"", "\n", "\r\n"};
  static const struct fault fault[] = {
      {2, "", "a line of 1001 bytes; shorten it to 1000"},
      {4, "", "no value after '='; write one or remove the line"},
  };
  for (size_t i = 0; i < COUNT(start); i++)
    for (size_t j = 0; j < COUNT(ending); j++) {
      char line[LB_LINE_MOST + 2], bytes[2 * LB_LINE_MOST];
      long_line(line, LB_LINE_MOST + 1, start[i]);
      int length = snprintf(bytes, sizeof bytes, "[s]\n%s%s", line, ending[j]);
      check_faults(bytes, (size_t)length, fault, 1);
      if (*ending[j] != '\0') {
        length += snprintf(bytes + length, sizeof bytes - (size_t)length, "[]\nb =\n");
        const struct fault both[] = {
            fault[0], {3, "", "a section without a name; write [name]"}, fault[1]};
        check_faults(bytes, (size_t)length, both, 3);
      }
    }
}
END_TEST

static const char doubt[] = "none of these lines is sound, and the rest was not read; is this a "
                            "machine file? lastbar start writes one";

START_TEST(test_what_is_no_text_stops_the_reading) {
  static const char endless[] = "a line without end, and the rest was not read; give a plain text";
  static const char such[] =
      "too many such lines, and the rest was not read; give a plain text in UTF-8";
  size_t length = (size_t)3 << 20;
  char *zeroes = calloc(1, length);
  check_no_text(zeroes, length, &(struct fault){1, "", endless}, 1);
  memset(zeroes, 'a', length);
  memcpy(zeroes, "[s]\n", 4);
  memcpy(zeroes + length - 5, "\nb =\n", 5);
  check_no_text(zeroes, length, &(struct fault){2, "", endless}, 1);
  free(zeroes);
  const struct fault utf16 = {1, "", "a text in UTF-16; save it as UTF-8"};
  check_no_text("\xFF\xFE[\0s\0]\0", 8, &utf16, 1);
  check_no_text("\xFE\xFF\0[\0s\0]", 8, &utf16, 1);

  char bytes[256] = "";
  struct fault fault[22];
  for (int i = 0; i < 20; i++) {
    strcat(bytes, "\xFF\n");
    fault[i] = (struct fault){i + 1, "", "byte 1 (0xFF) is not UTF-8; save the text as UTF-8"};
  }
  strcat(bytes, "not read\n");
  fault[20] = (struct fault){20, "", such};
  check_no_text(bytes, strlen(bytes), fault, 21);
  fault[19] = (struct fault){
      20, "", "neither [section] nor key = value; write one, or ';' before a comment"};
  fault[20] = (struct fault){20, "", doubt};
  check_no_text(bytes + 2, strlen(bytes + 2), fault, 21);
}
END_TEST

/* Twenty lines at fault and none that is sound are no machine file; a comment is no sound line. */
START_TEST(test_what_is_no_machine_file_stops_the_reading) {
  char bytes[512] = "; a list\n\n";
  struct fault fault[22];
  for (int i = 0; i < 20; i++) {
    strcat(bytes, "a, b\n");
    fault[i] = (struct fault){
        i + 3, "", "neither [section] nor key = value; write one, or ';' before a comment"};
  }
  strcat(bytes, "not read\n");
  fault[20] = (struct fault){22, "", doubt};
  check_no_text(bytes, strlen(bytes), fault, 21);

  memcpy(bytes, "[list]\n  ", 9); /* a sound line, and then another fault of 21 lines in all */
  fault[20] = (struct fault){
      23, "", "neither [section] nor key = value; write one, or ';' before a comment"};
  check_faults(bytes, strlen(bytes), fault, 21);
}
END_TEST

/* What a text with one fault still says, and which sections the fault may touch. */
static const struct {
  const char *bytes;
  const char *value; /* of [s] a, or NULL */
  int line;          /* of it */
  bool touches_s, touches_t;
} left[] = {
    {"[s]\nb\na = 1\n[t]\nc = 2\n", "1", 3, true, false},
    {"[s]\na = 1\n[t]\nc: 2\n", "1", 2, false, true},
    {"[t]\n[s]\na = 1\nb =\n", "1", 3, true, false},
    {"[s]\na =\n[t]\n", NULL, 0, true, false},
    {"[s]\n a = 1\n[t]\n", NULL, 0, true, false},
    {"[t]\nb\n[s]\na = 1\n[t]\n", "1", 4, false, true},
    /* of a doubled key the first holds, and nothing is hidden */
    {"[s]\na = 1\na = 2\n[t]\n", "1", 2, false, false},
    /* nor by a comment */
    {"[s]\n; \xE9\na = 1\n[t]\n", "1", 3, false, false},
    {"[s]\n  # \x01\na = 1\n[t]\n", "1", 3, false, false},
    {"[s]\na = 1 ; \xE9\n[t]\n", NULL, 0, true, false},
    /* a header that names its section all the same */
    {"[t]\n[s\na = 1\n", "1", 3, true, false},
    {"[t]\ns]\na = 1\n", "1", 3, true, false},
    {"[t]\n[s] b = 1\na = 1\n", "1", 3, true, false},
    {"[t]\n [S]\na = 1\n", "1", 3, true, false},
    {"[t]\n[s] ; \xE9\na = 1\n", "1", 3, true, false},
    /* lines that may belong anywhere */
    {"[t]\n[]\na = 1\n", NULL, 0, true, true},
    {"[t]\n[s a = 1\na = 2\n", NULL, 0, true, true},
    {"[t]\n[s\xE9]\na = 1\n", NULL, 0, true, true},
    {"[t]\n[" NAME_49 "x]\n[s]\na = 1\n", "1", 4, true, true},
    {"b = 1\n[s]\na = 1\n[t]\n", "1", 3, true, true},
    {"b\n[s]\na = 1\n[t]\n", "1", 3, true, true},
};

START_TEST(test_what_is_sound_is_left) {
  ck_assert_uint_eq(COUNT(left), 21);
  for (size_t i = 0; i < COUNT(left); i++) {
    struct lb_textfile *text;
    struct lb_errors errors = {0};
    ck_assert_int_eq(
        lb_textfile_parse(&text, text_name, left[i].bytes, strlen(left[i].bytes), &errors),
        LB_BAD_INPUT);
    ck_assert_uint_eq(errors.count, 1);
    ck_assert_ptr_nonnull(text);
    ck_assert(lb_textfile_faulty(text));
    check_bytes(text, left[i].bytes);
    if (left[i].value)
      check_value(text, "s", "a", left[i].value, left[i].line, 0);
    else
      ck_assert_ptr_null(lb_textfile_find(text, "s", "a"));
    ck_assert_msg(lb_textfile_section_faulty(text, "s") == left[i].touches_s, "%s", left[i].bytes);
    ck_assert_msg(lb_textfile_section_faulty(text, "t") == left[i].touches_t, "%s", left[i].bytes);
    ck_assert(lb_textfile_section_faulty(text, "u") == (left[i].touches_s && left[i].touches_t));
    lb_errors_free(&errors);
    lb_textfile_free(text);
  }
}
END_TEST

START_TEST(test_no_section_of_a_sound_text_is_faulty) {
  struct lb_textfile *text = parse_string("[s]\na = 1\n");
  ck_assert_int_eq(lb_textfile_override(text, "t.b=1", 1, NULL), LB_OK);
  ck_assert_int_eq(lb_textfile_override(text, "s.c =", 2, NULL), LB_BAD_INPUT);
  ck_assert(!lb_textfile_faulty(text));
  ck_assert(!lb_textfile_section_faulty(text, "s"));
  ck_assert(!lb_textfile_section_faulty(text, "t"));
  ck_assert(!lb_textfile_section_faulty(text, "u"));
  lb_textfile_free(text);
}
END_TEST

/* A line too long is a header if it begins like one. */
START_TEST(test_long_header_begins_its_section) {
  char bytes[2 * LB_LINE_MOST];
  long_line(bytes, 4 + LB_LINE_MOST + 1, "[t]\n[s] ;");
  strcat(bytes, "\na = 1\n");
  struct lb_textfile *text = refused(
      bytes, strlen(bytes), &(struct fault){2, "", "a line of 1001 bytes; shorten it to 1000"}, 1);
  check_value(text, "s", "a", "1", 3, 0);
  ck_assert(lb_textfile_section_faulty(text, "s"));
  ck_assert(!lb_textfile_section_faulty(text, "t"));
  lb_textfile_free(text);
}
END_TEST

START_TEST(test_text_with_faults_is_overridden_not_changed) {
  static const char bytes[] = "[s]\na\nb = 1\n";
  struct lb_error error;
  struct lb_textfile *text;
  ck_assert_int_eq(lb_textfile_parse(&text, text_name, bytes, sizeof bytes - 1, NULL),
                   LB_BAD_INPUT);
  ck_assert_int_eq(lb_textfile_override(text, "s.a=2", 1, NULL), LB_OK);
  check_value(text, "s", "a", "2", 0, 1);
  ck_assert_int_eq(lb_textfile_change(text, "s", "b", "2", &error), LB_BAD_INPUT);
  check_error(&error, 0, "", "the text has errors; mend them before a value is changed");
  check_value(text, "s", "b", "1", 3, 0);
  check_bytes(text, bytes);
  lb_textfile_free(text);
}
END_TEST

START_TEST(test_empty_texts) {
  static const char *const row[] = {
      "", MARK, "\n", "\r\n", " \t", "; only this", "  # only this\n", MARK "\n\n"};
  for (size_t i = 0; i < COUNT(row); i++) {
    struct lb_textfile *text = parse_string(row[i]);
    ck_assert_uint_eq(lb_textfile_count(text), 0);
    ck_assert_uint_eq(lb_textfile_sections(text), 0);
    check_bytes(text, row[i]);
    lb_textfile_free(text);
  }
  struct lb_textfile *text = parse(NULL, 0);
  ck_assert_ptr_eq(lb_textfile_name(text), text_name);
  ck_assert_ptr_null(lb_textfile_entry(text, 0));
  ck_assert_ptr_null(lb_textfile_find(text, "s", "a"));
  lb_textfile_free(text);
  lb_textfile_free(NULL);
}
END_TEST

START_TEST(test_order_and_sections) {
  struct lb_textfile *text =
      parse_string("; head\n[ Inlet\tValve ] # one\nb = 1\n\n[t]\n[INLET VALVE]\na = 2\n");
  static const char *const key[] = {"b", "a"};
  for (size_t i = 0; i < 2; i++)
    ck_assert_str_eq(lb_textfile_entry(text, i)->key, key[i]);
  ck_assert_ptr_null(lb_textfile_entry(text, 2));
  int line = -1;
  ck_assert_uint_eq(lb_textfile_sections(text), 2);
  ck_assert_str_eq(lb_textfile_section(text, 0, &line), "inlet valve");
  ck_assert_int_eq(line, 2);
  ck_assert_str_eq(lb_textfile_section(text, 1, &line), "t");
  ck_assert_int_eq(line, 5);
  ck_assert_str_eq(lb_textfile_section(text, 1, NULL), "t");
  ck_assert_ptr_null(lb_textfile_section(text, 2, &line));
  ck_assert_int_eq(line, 5);
  check_value(text, "inlet valve", "a", "2", 7, 0);
  ck_assert_ptr_null(lb_textfile_find(text, "t", "a"));
  lb_textfile_free(text);
}
END_TEST

START_TEST(test_many_lines) {
  const int many = support_times(MANY);
  size_t room = (size_t)many * 32;
  char *bytes = malloc(room);
  for (int sections = 0; sections < 2; sections++) {
    size_t length = (size_t)snprintf(bytes, room, "[s]\n");
    for (int i = 0; i < many; i++)
      length += (size_t)snprintf(bytes + length, room - length,
                                 sections ? "[%d]\na = %d\n" : "%d = %d\n", i, i);
    struct lb_textfile *text = parse(bytes, length);
    ck_assert_uint_eq(lb_textfile_count(text), (size_t)many);
    ck_assert_uint_eq(lb_textfile_sections(text), sections ? (size_t)many + 1 : 1);
    for (int i = 0; i < many; i++) {
      char number[16];
      snprintf(number, sizeof number, "%d", i);
      check_value(text, sections ? number : "s", sections ? "a" : number, number,
                  sections ? 2 * i + 3 : i + 2, 0);
    }
    lb_textfile_free(text);
  }
  free(bytes);
}
END_TEST

START_TEST(test_override) {
  static const char bytes[] = "[cylinder]\nbore = 50 mm ; old\n";
  struct lb_textfile *text = parse_string(bytes);
  struct lb_errors errors = {0};
  ck_assert_int_eq(lb_textfile_override(text, " Cylinder.BORE = 63 mm ", 1, &errors), LB_OK);
  ck_assert_int_eq(lb_textfile_override(text, "cylinder.stroke=1=2", 2, &errors), LB_OK);
  ck_assert_int_eq(lb_textfile_override(text, "store No.2.rating=x.y", 3, &errors), LB_OK);
  ck_assert_uint_eq(errors.count, 0);
  ck_assert_uint_eq(lb_textfile_count(text), 3);
  ck_assert_str_eq(lb_textfile_entry(text, 0)->value, "63 mm");
  ck_assert_str_eq(lb_textfile_entry(text, 1)->value, "1=2");
  ck_assert_str_eq(lb_textfile_entry(text, 2)->value, "x.y");
  check_value(text, "cylinder", "bore", "63 mm", 0, 1);
  check_value(text, "cylinder", "stroke", "1=2", 0, 2);
  check_value(text, "store no.2", "rating", "x.y", 0, 3);
  int line = -1;
  ck_assert_uint_eq(lb_textfile_sections(text), 2);
  ck_assert_str_eq(lb_textfile_section(text, 1, &line), "store no.2");
  ck_assert_int_eq(line, 0);
  check_bytes(text, bytes);
  lb_textfile_free(text);
}
END_TEST

START_TEST(test_override_is_refused) {
  static const struct {
    const char *assignment, *key, *message;
  } row[] = {
      {"cylinder.bore", "", "no '=' in 'cylinder.bore'; write section.key=value"},
      {"", "", "no '=' in ''; write section.key=value"},
      {"bore=5.0 mm", "", "no '.' in 'bore=5.0 mm'; write section.key=value"},
      {"=", "", "no '.' in '='; write section.key=value"},
      {".bore=5", "", "no section; name one"},
      {"cylinder.=5", "", "no key; name one"},
      {"cylinder.bore= ", "[cylinder] bore", "an empty value; give one"},
      {"cylinder.bore=5 ; mm", "[cylinder] bore",
       "';' or '#' at the start or after a blank would begin a comment; leave it out"},
      {"cylinder.bore=#5", "[cylinder] bore",
       "';' or '#' at the start or after a blank would begin a comment; leave it out"},
      {"cylinder.bore=5\nmm", "", "byte 16 is the control character U+000A; remove it"},
      {"cylinder.b:e=5", "", "'b:e' cannot be a key name; use letters, digits and blanks"},
      {"cyl]er.bore=5", "", "'cyl]er' cannot be a section name; use letters, digits and blanks"},
      {"cyl #r.bore=5", "", "'cyl #r' cannot be a section name; use letters, digits and blanks"},
      {NAME_49 "x.bore=5", "", "a section name of more than 49 bytes; shorten it"},
      {"s." NAME_49 "x=5", "", "a key name of more than 49 bytes; shorten it"},
      {"cylinder.stroke=6", "[cylinder] stroke", "already set by --set 1; keep one of the two"},
  };
  ck_assert_uint_eq(COUNT(row), 16);
  struct lb_textfile *text = parse_string("[cylinder]\nbore = 50 mm\n");
  ck_assert_int_eq(lb_textfile_override(text, "cylinder.stroke=5", 1, NULL), LB_OK);
  for (size_t i = 0; i < COUNT(row); i++) {
    struct lb_errors errors = {0};
    ck_assert_int_eq(lb_textfile_override(text, row[i].assignment, 7, &errors), LB_BAD_INPUT);
    ck_assert_uint_eq(errors.count, 1);
    ck_assert_str_eq(errors.item[0].text, row[i].message);
    ck_assert_str_eq(errors.item[0].key, row[i].key);
    ck_assert_int_eq(errors.item[0].set, 7);
    ck_assert_int_eq(errors.item[0].line, 0);
    ck_assert_ptr_null(errors.item[0].file);
    lb_errors_free(&errors);
  }
  ck_assert_uint_eq(lb_textfile_count(text), 2);
  ck_assert_uint_eq(lb_textfile_sections(text), 1);
  lb_textfile_free(text);
}
END_TEST

START_TEST(test_change_writes_back) {
  static const struct {
    const char *before, *section, *key, *value, *after;
    int line;
  } row[] = {
      /* the value's own bytes only */
      {"; c\n[S]\nA  =  1 mm\t ; c = 2 \nb=2", "s", "a", "10,5 mm",
       "; c\n[S]\nA  =  10,5 mm\t ; c = 2 \nb=2", 3},
      {"[s]\r\na=1 # 1\r\nb = 1\r\n", " S", "A ", " x\ty ", "[s]\r\na=x\ty # 1\r\nb = 1\r\n", 2},
      {MARK "[s]\na = 1", "s", "a", "2 ;", MARK "[s]\na = 1", 2},
      {MARK "[s]\na = 1", "s", "a", "2;", MARK "[s]\na = 2;", 2},
      /* a new key below the last value of its section, or its header */
      {"[s]\na = 1 ; c\n\n[t]\nb = 2\n", "s", "B  b", "3",
       "[s]\na = 1 ; c\nb b = 3\n\n[t]\nb = 2\n", 3},
      {"[s]\r\n[t]\r\nb = 2\r\n", "s", "a", "3", "[s]\r\na = 3\r\n[t]\r\nb = 2\r\n", 2},
      {"[s]\na = 1\n[t]\nb = 2\n[s]\nc = 3\n; end\n", "s", "d", "4",
       "[s]\na = 1\n[t]\nb = 2\n[s]\nc = 3\nd = 4\n; end\n", 7},
      {"[s]\na = 1", "s", "b", "2", "[s]\na = 1\nb = 2", 3},
      {"[s]", "s", "b", "2", "[s]\nb = 2", 2},
      {"; c\r\n[s]\r\na = 1", "s", "b", "2", "; c\r\n[s]\r\na = 1\r\nb = 2", 4},
      /* a new section at the end */
      {"[s]\na = 1\n", "T t", "b", "2", "[s]\na = 1\n\n[t t]\nb = 2\n", 5},
      {"[s]\r\na = 1", "t", "b", "2", "[s]\r\na = 1\r\n\r\n[t]\r\nb = 2", 5},
      {"", "t", "b", "2", "[t]\nb = 2\n", 2},
      {MARK, "t", "b", "2", MARK "[t]\nb = 2\n", 2},
      {MARK "; c", "t", "b", "2", MARK "; c\n\n[t]\nb = 2", 4},
  };
  ck_assert_uint_eq(COUNT(row), 15);
  for (size_t i = 0; i < COUNT(row); i++) {
    struct lb_textfile *text = parse_string(row[i].before);
    bool refused = strcmp(row[i].before, row[i].after) == 0;
    ck_assert_int_eq(lb_textfile_change(text, row[i].section, row[i].key, row[i].value, NULL),
                     refused ? LB_BAD_INPUT : LB_OK);
    check_bytes(text, row[i].after);
    struct lb_textfile *again = parse_string(row[i].after);
    ck_assert_uint_eq(lb_textfile_count(text), lb_textfile_count(again));
    ck_assert_uint_eq(lb_textfile_sections(text), lb_textfile_sections(again));
    for (size_t j = 0; j < lb_textfile_count(again); j++) {
      const struct lb_entry *entry = lb_textfile_entry(again, j);
      check_value(text, entry->section, entry->key, entry->value, entry->line, 0);
    }
    size_t found = 0;
    for (size_t j = 0; j < lb_textfile_count(again); j++)
      found += lb_textfile_entry(again, j)->line == row[i].line;
    ck_assert_uint_eq(found, 1);
    lb_textfile_free(again);
    lb_textfile_free(text);
  }
}
END_TEST

START_TEST(test_change_and_override) {
  struct lb_textfile *text = parse_string("[s]\na = 1\n");
  struct lb_error error;
  ck_assert_int_eq(lb_textfile_override(text, "s.a=2", 1, NULL), LB_OK);
  ck_assert_int_eq(lb_textfile_override(text, "t.b=3", 2, NULL), LB_OK);
  ck_assert_int_eq(lb_textfile_change(text, "s", "a", "40", &error), LB_OK);
  ck_assert_int_eq(lb_textfile_change(text, "t", "b", "50", &error), LB_OK);
  check_value(text, "s", "a", "2", 0, 1);
  check_value(text, "t", "b", "3", 0, 2);
  check_bytes(text, "[s]\na = 40\n\n[t]\nb = 50\n");
  int line;
  ck_assert_str_eq(lb_textfile_section(text, 1, &line), "t");
  ck_assert_int_eq(line, 4);
  ck_assert_int_eq(lb_textfile_change(text, "t", "b", "6", &error), LB_OK);
  ck_assert_int_eq(lb_textfile_change(text, "s", "c", "7", &error), LB_OK);
  ck_assert_int_eq(lb_textfile_change(text, "t", "d", "8", &error), LB_OK);
  check_bytes(text, "[s]\na = 40\nc = 7\n\n[t]\nb = 6\nd = 8\n");
  ck_assert_str_eq(lb_textfile_section(text, 1, &line), "t");
  ck_assert_int_eq(line, 5);
  check_value(text, "t", "d", "8", 7, 0);
  ck_assert_uint_eq(lb_textfile_count(text), 4);
  ck_assert_uint_eq(lb_textfile_sections(text), 2);
  lb_textfile_free(text);
}
END_TEST

START_TEST(test_change_is_refused) {
  static const struct {
    const char *section, *key, *value;
    struct fault fault;
  } row[] = {
      {"s", "a", " \t", {2, "[s] a", "an empty value; give one"}},
      {"s", "new", "", {0, "[s] new", "an empty value; give one"}},
      {"s",
       "a",
       "1\r\n2",
       {2, "[s] a", "byte 2 is a lone carriage return; end lines with LF or CR LF"}},
      {"s", "a", "1\n", {2, "[s] a", "byte 2 is the control character U+000A; remove it"}},
      {"s", "a", "\xE9", {2, "[s] a", "byte 1 (0xE9) is not UTF-8; save the text as UTF-8"}},
      {"s",
       "a",
       "1 #2",
       {2, "[s] a",
        "';' or '#' at the start or after a blank would begin a comment; leave it out"}},
      {"", "a", "1", {0, "", "no section; name one"}},
      {"s", " ", "1", {0, "", "no key; name one"}},
      {"s", "a=", "1", {0, "", "'a=' cannot be a key name; use letters, digits and blanks"}},
      {"s", "[a", "1", {0, "", "'[a' cannot be a key name; use letters, digits and blanks"}},
      {"s", ";a", "1", {0, "", "';a' cannot be a key name; use letters, digits and blanks"}},
      {"[s]", "a", "1", {0, "", "'[s]' cannot be a section name; use letters, digits and blanks"}},
      {"s\n", "a", "1", {0, "", "byte 2 is the control character U+000A; remove it"}},
  };
  ck_assert_uint_eq(COUNT(row), 13);
  struct lb_textfile *text = parse_string("[s]\na = 1\n");
  for (size_t i = 0; i < COUNT(row); i++) {
    struct lb_error error;
    const struct fault *fault = &row[i].fault;
    ck_assert_int_eq(lb_textfile_change(text, row[i].section, row[i].key, row[i].value, &error),
                     LB_BAD_INPUT);
    check_error(&error, fault->line, fault->key, fault->message);
    check_bytes(text, "[s]\na = 1\n");
  }
  ck_assert_uint_eq(lb_textfile_count(text), 1);
  lb_textfile_free(text);
}
END_TEST

/* The longest line that a change can make is the longest that can be read. */
START_TEST(test_change_up_to_the_longest_line) {
  static const char *const key[] = {"a", "b"}; /* one to be replaced, one to be added */
  char value[LB_LINE_MOST + 2];
  long_line(value, LB_LINE_MOST + 1, "");
  for (size_t i = 0; i < COUNT(key); i++) {
    struct lb_textfile *text = parse_string(MARK "[s]\r\na = 1\r\n");
    struct lb_error error;
    ck_assert_int_eq(lb_textfile_change(text, "s", key[i], value, &error), LB_BAD_INPUT);
    ck_assert_str_eq(error.text, "a value of 1001 bytes; shorten it to 1000");
    ck_assert_int_eq(lb_textfile_change(text, "s", key[i], value + 4, &error), LB_BAD_INPUT);
    ck_assert_str_eq(error.text, "the line would have 1001 bytes; shorten it to 1000");
    check_bytes(text, MARK "[s]\r\na = 1\r\n");
    ck_assert_int_eq(lb_textfile_change(text, "s", key[i], value + 5, &error), LB_OK);
    size_t length;
    const char *bytes = lb_textfile_bytes(text, &length);
    lb_textfile_free(parse(bytes, length));
    lb_textfile_free(text);
  }
}
END_TEST

START_TEST(test_strings_stay) {
  struct lb_textfile *text = parse_string("[s]\na = 1\n");
  const struct lb_entry before = *lb_textfile_entry(text, 0);
  for (int i = 0; i < 100; i++) {
    char key[16];
    snprintf(key, sizeof key, "k%d", i);
    ck_assert_int_eq(lb_textfile_change(text, "s", key, "1", NULL), LB_OK);
    ck_assert_int_eq(lb_textfile_change(text, "s", "a", key, NULL), LB_OK);
  }
  ck_assert_str_eq(before.section, "s");
  ck_assert_str_eq(before.key, "a");
  ck_assert_str_eq(before.value, "1");
  check_value(text, "s", "a", "k99", 2, 0);
  lb_textfile_free(text);
}
END_TEST

/* A text as pieces of which the values are known: what a change must leave is told by the pieces.
 */
enum {
  KEYS = 40
};

struct pieces {
  char between[KEYS + 1][128]; /* everything but the values */
  char value[KEYS][64];
};

static unsigned below(uint64_t *state, unsigned most) {
  return (unsigned)(support_uniform(state) * most);
}

static const char *any(uint64_t *state, const char *const *choice, unsigned count) {
  return choice[below(state, count)];
}

static void random_value(uint64_t *state, char *value, size_t size) {
  static const char *const word[] = {"78 deg", "#",   ";", "=",          "\xC2\xB0",       "\"",
                                     "3,6",    "[x]", ":", "bar\tgauge", "\xE2\x88\x92 3", "A"};
  const char *start = any(state, word + 5, 7);
  size_t used = (size_t)snprintf(value, size, "%s", start);
  for (unsigned n = below(state, 4); n > 0; n--)
    used += (size_t)snprintf(value + used, size - used, "%s", any(state, word, COUNT(word)));
}

static void random_pieces(uint64_t *state, struct pieces *pieces) {
  static const char *const blank[] = {"", " ", "\t", "   "};
  static const char *const comment[] = {"", " ", " ; a = 1", "\t#", " ;[t] \t"};
  static const char *const line[] = {"", ";x", "# k1 = 5", "  ; [t]", "\t", "[t] ;x", "[S]"};
  const char *ending = below(state, 2) ? "\n" : "\r\n";
  snprintf(pieces->between[0], sizeof pieces->between[0], "%s[s] %s%s", below(state, 2) ? MARK : "",
           any(state, comment, COUNT(comment)), ending);
  for (int i = 0; i < KEYS; i++) {
    char *before = pieces->between[i], *after = pieces->between[i + 1];
    size_t used = strlen(before), size = sizeof pieces->between[0];
    snprintf(before + used, size - used, "K%d%s=%s", i, any(state, blank, COUNT(blank)),
             any(state, blank, COUNT(blank)));
    random_value(state, pieces->value[i], sizeof pieces->value[i]);
    used = (size_t)snprintf(after, size, "%s", any(state, comment, COUNT(comment)));
    bool last = i == KEYS - 1;
    if (!last || below(state, 2))
      used += (size_t)snprintf(after + used, size - used, "%s", ending);
    for (unsigned n = last ? 0 : below(state, 3); n > 0; n--)
      used += (size_t)snprintf(after + used, size - used, "%s%s", any(state, line, COUNT(line)),
                               ending);
  }
}

static size_t join(char *bytes, const struct pieces *pieces) {
  size_t length = 0;
  for (int i = 0; i <= KEYS; i++) {
    length += (size_t)sprintf(bytes + length, "%s", pieces->between[i]);
    if (i < KEYS)
      length += (size_t)sprintf(bytes + length, "%s", pieces->value[i]);
  }
  return length;
}

START_TEST(test_random_changes_keep_every_other_byte) {
  static char bytes[sizeof(struct pieces)];
  uint64_t state = 2;
  int changes = 0;
  for (int round = 0; round < 200; round++) {
    struct pieces pieces;
    random_pieces(&state, &pieces);
    struct lb_textfile *text = parse(bytes, join(bytes, &pieces));
    ck_assert_uint_eq(lb_textfile_count(text), KEYS);
    for (int step = 0; step < 20; step++, changes++) {
      unsigned i = below(&state, KEYS);
      random_value(&state, pieces.value[i], sizeof pieces.value[i]);
      const struct lb_entry *entry = lb_textfile_entry(text, i);
      ck_assert_int_eq(lb_textfile_change(text, entry->section, entry->key, pieces.value[i], NULL),
                       LB_OK);
      ck_assert_str_eq(lb_textfile_entry(text, i)->value, pieces.value[i]);
      join(bytes, &pieces);
      check_bytes(text, bytes);
    }
    lb_textfile_free(text);
  }
  ck_assert_int_eq(changes, 4000);
}
END_TEST

/* A folder of our own for files; the path of one in it stays until the next is asked for. */
static char folder[64];

static void folder_make(void) {
  strcpy(folder, "/tmp/lastbar-check-XXXXXX");
  ck_assert_ptr_nonnull(mkdtemp(folder));
}

static const char *in_folder(const char *name) {
  static char path[512];
  snprintf(path, sizeof path, "%s/%s", folder, name);
  return path;
}

static void folder_remove(void) {
  DIR *directory = opendir(folder);
  for (struct dirent *item; directory && (item = readdir(directory));)
    unlink(in_folder(item->d_name));
  if (directory)
    closedir(directory);
  rmdir(folder);
}

static void file_write(const char *path, const char *bytes) {
  FILE *file = fopen(path, "wb");
  ck_assert_ptr_nonnull(file);
  ck_assert_int_ge(fputs(bytes, file), 0);
  ck_assert_int_eq(fclose(file), 0);
}

/* Act as a user without rights when the test runs as root; returns whether that is so. */
static bool rights_drop(void) {
  return geteuid() == 0 && seteuid(NOBODY) == 0;
}

static void rights_regain(bool dropped) {
  if (dropped)
    ck_assert_int_eq(seteuid(0), 0);
}

START_TEST(test_read_a_file_with_faults) {
  const char *path = in_folder("a.ini");
  file_write(path, "[s]\na = 1\nb\n");
  struct lb_textfile *text;
  ck_assert_int_eq(lb_textfile_read(&text, path, NULL), LB_BAD_INPUT);
  check_value(text, "s", "a", "1", 2, 0);
  ck_assert(lb_textfile_section_faulty(text, "s"));
  lb_textfile_free(text);
}
END_TEST

static void check_unread(const char *path, enum lb_status status, int line, const char *message) {
  struct lb_textfile *text = (struct lb_textfile *)&text;
  struct lb_errors errors = {0};
  ck_assert_int_eq(lb_textfile_read(&text, path, &errors), status);
  ck_assert_ptr_null(text);
  ck_assert_uint_eq(errors.count, 1);
  ck_assert_str_eq(errors.item[0].text, message);
  ck_assert_int_eq(errors.item[0].status, status);
  ck_assert_ptr_eq(errors.item[0].file, path);
  ck_assert_int_eq(errors.item[0].line, line);
  ck_assert_str_eq(errors.item[0].key, "");
  lb_errors_free(&errors);
}

START_TEST(test_read_a_file) {
  const char *path = in_folder("a.ini");
  file_write(path, "[s]\r\na = 1");
  struct lb_textfile *text;
  ck_assert_int_eq(lb_textfile_read(&text, path, NULL), LB_OK);
  ck_assert_ptr_eq(lb_textfile_name(text), path);
  check_value(text, "s", "a", "1", 2, 0);
  check_bytes(text, "[s]\r\na = 1");
  lb_textfile_free(text);
  file_write(path, "");
  ck_assert_int_eq(lb_textfile_read(&text, path, NULL), LB_OK);
  check_bytes(text, "");
  lb_textfile_free(text);
}
END_TEST

START_TEST(test_read_a_file_of_many_chunks) {
  const char *path = in_folder("a.ini");
  FILE *file = fopen(path, "wb");
  fputs("[s]\n", file);
  for (int i = 0; i < MANY; i++)
    fprintf(file, "%d = %d\n", i, i);
  fclose(file);
  struct lb_textfile *text;
  ck_assert_int_eq(lb_textfile_read(&text, path, NULL), LB_OK);
  ck_assert_uint_eq(lb_textfile_count(text), MANY);
  check_value(text, "s", "99999", "99999", MANY + 1, 0);
  lb_textfile_free(text);
}
END_TEST

START_TEST(test_read_standard_input) {
  const char *path = in_folder("a.ini");
  file_write(path, "[s]\na = 1\n");
  int before = dup(STDIN_FILENO), file = open(path, O_RDONLY);
  ck_assert_int_eq(dup2(file, STDIN_FILENO), STDIN_FILENO);
  struct lb_textfile *text;
  ck_assert_int_eq(lb_textfile_read(&text, "-", NULL), LB_OK);
  dup2(before, STDIN_FILENO);
  close(before);
  close(file);
  clearerr(stdin);
  ck_assert_str_eq(lb_textfile_name(text), "-");
  check_value(text, "s", "a", "1", 2, 0);
  lb_textfile_free(text);
}
END_TEST

START_TEST(test_read_is_refused) {
  check_unread(in_folder("none.ini"), LB_IO, 0,
               "cannot be read (No such file or directory); check the name and the rights to it");
  check_unread(folder, LB_IO, 0,
               "cannot be read (Is a directory); check the name and the rights to it");
  check_unread("/dev/zero", LB_BAD_INPUT, 1,
               "a line without end, and the rest was not read; give a plain text");
  const char *path = in_folder("a.ini");
  file_write(path, "[s]\n");
  ck_assert_int_eq(chmod(path, 0), 0);
  bool dropped = rights_drop();
  check_unread(path, LB_IO, 0,
               "cannot be read (Permission denied); check the name and the rights to it");
  rights_regain(dropped);
}
END_TEST

START_TEST(test_read_no_more_than_the_most) {
  size_t most = (size_t)64 << 20;
  char *bytes = malloc(most + 1);
  memset(bytes, '\n', most + 1);
  check_no_text(bytes, most + 1, &(struct fault){0, "", "more than 64 MiB; give a plain text"}, 1);
  const char *path = in_folder("a.ini");
  FILE *file = fopen(path, "wb");
  ck_assert_uint_eq(fwrite(bytes, 1, most + 1, file), most + 1);
  fclose(file);
  free(bytes);
  check_unread(path, LB_BAD_INPUT, 0, "more than 64 MiB; give a plain text");
}
END_TEST

static TCase *reading(void) {
  TCase *tests = tcase_create("reading");
  tcase_add_test(tests, test_value_is_read);
  tcase_add_test(tests, test_fault_is_refused);
  tcase_add_test(tests, test_utf8_is_checked_in_full);
  tcase_add_test(tests, test_faults_come_together_in_order);
  tcase_add_test(tests, test_lines_up_to_the_most);
  tcase_add_test(tests, test_line_over_the_most);
  tcase_add_test(tests, test_what_is_no_text_stops_the_reading);
  tcase_add_test(tests, test_what_is_no_machine_file_stops_the_reading);
  tcase_add_test(tests, test_what_is_sound_is_left);
  tcase_add_test(tests, test_no_section_of_a_sound_text_is_faulty);
  tcase_add_test(tests, test_long_header_begins_its_section);
  tcase_add_test(tests, test_text_with_faults_is_overridden_not_changed);
  tcase_add_test(tests, test_empty_texts);
  tcase_add_test(tests, test_order_and_sections);
  tcase_add_test(tests, test_many_lines);
  tcase_set_timeout(tests, 60);
  return tests;
}

static TCase *changing(void) {
  TCase *tests = tcase_create("changing");
  tcase_add_test(tests, test_override);
  tcase_add_test(tests, test_override_is_refused);
  tcase_add_test(tests, test_change_writes_back);
  tcase_add_test(tests, test_change_and_override);
  tcase_add_test(tests, test_change_is_refused);
  tcase_add_test(tests, test_change_up_to_the_longest_line);
  tcase_add_test(tests, test_strings_stay);
  tcase_add_test(tests, test_random_changes_keep_every_other_byte);
  tcase_set_timeout(tests, 60);
  return tests;
}

static TCase *files(void) {
  TCase *tests = tcase_create("files");
  tcase_add_checked_fixture(tests, folder_make, folder_remove);
  tcase_add_test(tests, test_read_a_file);
  tcase_add_test(tests, test_read_a_file_of_many_chunks);
  tcase_add_test(tests, test_read_a_file_with_faults);
  tcase_add_test(tests, test_read_standard_input);
  tcase_add_test(tests, test_read_is_refused);
  tcase_add_test(tests, test_read_no_more_than_the_most);
  tcase_set_timeout(tests, 60);
  return tests;
}

int main(void) {
  Suite *suite = suite_create("base/textfile");
  suite_add_tcase(suite, reading());
  suite_add_tcase(suite, changing());
  suite_add_tcase(suite, files());
  return support_run(suite, NULL);
}
