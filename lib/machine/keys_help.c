/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the table of keys tells a person: the starter file and the help on a key.
 */
#include "machine/keys.h"

#include "base/format.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
  WIDTH = 80,       /* columns of a line */
  NAME_LONGEST = 99 /* bytes of a section and key asked for */
};

/* Write text in lines of at most WIDTH columns, each after the same lead. */
static void wrap(FILE *out, const char *lead, const char *text) {
  size_t column = 0;
  for (const char *at = text; *at;) {
    size_t word = strcspn(at, " ");
    if (column > 0 && column + 1 + word > WIDTH) {
      fputc('\n', out);
      column = 0;
    }
    column += (size_t)fprintf(out, "%s%.*s", column ? " " : lead, (int)word, at);
    at += word + (at[word] == ' ');
  }
  fputc('\n', out);
}

/* A clause about a row, wrapped: "Usual: 8 to 100 mm." */
static void clause(FILE *out, const char *lead, const char *title, const char *text) {
  char line[640];
  lb_format(line, sizeof line, "%s: %s.", title, text);
  wrap(out, lead, line);
}

/* Meaning, measuring, usual values and default, which starter file and help have in common. */
static void describe(FILE *out, const char *lead, const struct lb_key *key) {
  wrap(out, lead, key->measure);
  clause(out, lead, "Usual", key->usual);
  if (*key->otherwise)
    clause(out, lead, "If left out", key->otherwise);
  if (key->only_at_speed)
    wrap(out, lead, "Not used in the slow cycle.");
}

/* Whether a row belongs to the sections of the store, of speed and of the workshop, which the
 * starter file only names. */
static bool of_workshop(const struct lb_key *key) {
  return key->when == LB_WHEN_SECTION || key->when == LB_WHEN_ORIFICE;
}

/* Whether the example machine of the starter file, double-acting with a connecting rod, needs it.
 */
static bool starter_needs(const struct lb_key *key) {
  return key->required && key->when != LB_WHEN_SWINGING && key->when != LB_WHEN_VEHICLE &&
         !of_workshop(key);
}

static void starter_key(FILE *out, const struct lb_key *key) {
  fputc('\n', out);
  clause(out, "; ", key->name, key->meaning);
  describe(out, ";   ", key);
  if (key->alternative) {
    char line[100];
    lb_format(line, sizeof line, "Give either this or: %s.", key->alternative);
    wrap(out, ";   ", line);
  }
  if (key->when == LB_WHEN_SWINGING)
    wrap(out, ";   ", "Needed with: kind = swinging.");
  if (key->when == LB_WHEN_VEHICLE)
    wrap(out, ";   ", key->required ? "Needed with: mass." : "Only with: mass.");
  fprintf(out, "%s%s = %s\n", starter_needs(key) ? "" : ";", key->name, key->example);
}

static const char starter_head[] =
    "; A machine file for lastbar. Every line is a quantity with its unit: put in\n"
    "; your own values. A line that begins with ; or # is a comment; take the mark\n"
    "; away to use it. Lengths may be in mm or in (also 1-1/4 in), volumes in cm3,\n"
    "; cu in or L, pressures in bar or psi, but always with gauge or absolute:\n"
    "; 6 bar gauge, 87 psig, 3.8 bara.\n";

static const char timing_note[] =
    "; The keys of [timing] hold for both ends. An end may have its own in a section\n"
    "; [timing cap end] or [timing rod end]. Angles count from that end's own dead\n"
    "; centre in the direction of rotation.\n";

static const char workshop_note[] =
    "\n; The sections below are for the store of air that lastbar rundown runs down,\n"
    "; for the machine at speed and for the workshop: the charts and templates of\n"
    "; lastbar chart, and the tables of lastbar table. The slow cycle asks for none\n"
    "; of them but a tube that serves both valves. To use one, take the marks of its\n"
    "; header and of its keys away; lastbar help 'switch disc' says what each of its\n"
    "; keys is and how to measure it.\n";

/* A section for the workshop as it may be given, from row `index` on; returns the row after it. */
static size_t starter_section(FILE *out, size_t index) {
  const char *section = lb_keys_get(index)->section;
  fprintf(out, "\n;[%s]\n", section);
  for (; index < lb_keys_count(); index++) {
    const struct lb_key *key = lb_keys_get(index);
    if (strcmp(key->section, section) != 0)
      break;
    if (!key->another_way && !key->restates && key->when != LB_WHEN_ORIFICE)
      fprintf(out, ";%s = %s\n", key->name, key->example);
  }
  return index;
}

/* The sections for the workshop, the last of the table. */
static void starter_workshop(FILE *out) {
  size_t index = 0;
  while (!of_workshop(lb_keys_get(index)))
    index++;
  fputs(workshop_note, out);
  while (index < lb_keys_count())
    index = starter_section(out, index);
}

char *lb_keys_starter(void) {
  char *text = NULL;
  size_t size;
  FILE *out = open_memstream(&text, &size);
  if (!out)
    return NULL;
  fputs(starter_head, out);
  const char *section = "";
  for (size_t i = 0; !of_workshop(lb_keys_get(i)); i++) {
    const struct lb_key *key = lb_keys_get(i);
    if (strcmp(key->section, section) != 0) {
      section = key->section;
      fprintf(out, "\n[%s]\n%s", section, key->of_end ? timing_note : "");
    }
    starter_key(out, key);
  }
  starter_workshop(out);
  bool failed = ferror(out);
  if (fclose(out) != 0 || failed) {
    free(text);
    return NULL;
  }
  return text;
}

/* How a value is written: the kinds differ. */
static void write_form(FILE *out, const struct lb_key *key) {
  fprintf(out, "  Written: %s = %s\n", key->name, key->telling ? key->telling : key->example);
  if (key->kind == LB_KEY_CHOICE) {
    fprintf(out, "  One of:");
    for (size_t i = 0; key->choice[i]; i++)
      fprintf(out, "%s %s", i ? "," : "", key->choice[i]);
    fputc('\n', out);
  }
  if (key->share)
    fprintf(out, "  Or as a share: %s = %s\n", key->name, key->share);
  if (key->kind == LB_KEY_RAMP)
    fprintf(out, "  Or as a time: %s = 3 ms\n", key->name);
  if (key->kind == LB_KEY_HEAT)
    fprintf(out, "  Or: %s = isothermal, %s = adiabatic\n", key->name, key->name);
  if (key->kind == LB_KEY_GRADIENT)
    fprintf(out, "  Or: %s = 1 in 80, %s = 0.8 deg\n", key->name, key->name);
  if (key->kind == LB_KEY_RATING)
    fprintf(out, "  Or: %s = 10 L at 200 bar gauge\n", key->name);
  if (key->kind == LB_KEY_EXPONENT)
    fprintf(out, "  Or: %s = isothermal, %s = 1.25\n", key->name, key->name);
  if (strcmp(key->unit, key->inch_unit) != 0)
    fprintf(out, "  Units: %s, %s and others\n", key->unit, key->inch_unit);
}

static void help_key(FILE *out, const struct lb_key *key) {
  fprintf(out, "[%s] %s\n", key->section, key->name);
  char line[640];
  lb_format(line, sizeof line, "%s.", key->meaning);
  if (line[0] >= 'a' && line[0] <= 'z')
    line[0] = (char)(line[0] - 'a' + 'A');
  wrap(out, "  ", line);
  describe(out, "  ", key);
  if (key->required && key->when == LB_WHEN_ALWAYS)
    fputs("  Every machine file must give it.\n", out);
  if (key->required && of_workshop(key))
    fprintf(out, "  Where there is a section [%s], it must give it.\n", key->section);
  else if (key->required && key->when == LB_WHEN_VEHICLE)
    fputs("  A vehicle, which is given by its mass, must give it.\n", out);
  else if (key->required && key->when != LB_WHEN_ALWAYS)
    fputs("  A machine that has this must give it.\n", out);
  if (key->alternative)
    fprintf(out, "  Give either this or: %s\n", key->alternative);
  if (key->of_end)
    fputs("  An end may have its own, in [timing cap end] or [timing rod end].\n", out);
  if (*key->limits)
    clause(out, "  ", "Limits", key->limits);
  write_form(out, key);
}

/* Lower case, single blanks, none at the ends. */
static void fold(char *folded, size_t size, const char *name) {
  size_t used = 0;
  for (const char *at = name; *at && used + 1 < size; at++) {
    char c = *at >= 'A' && *at <= 'Z' ? (char)(*at - 'A' + 'a') : *at;
    bool blank = c == ' ' || c == '\t';
    if (!blank || (used > 0 && folded[used - 1] != ' '))
      folded[used++] = blank ? ' ' : c;
  }
  while (used > 0 && folded[used - 1] == ' ')
    used--;
  folded[used] = '\0';
}

/* Take "[section] key" and "section.key" apart in place; the section is "" for a bare key. */
static const char *split(char *folded, const char **section) {
  char *close = folded[0] == '[' ? strchr(folded, ']') : NULL;
  char *dot = close ? NULL : strrchr(folded, '.');
  char *end = close ? close : dot;
  *section = end ? folded + (close != NULL) : "";
  if (!end)
    return folded;
  *end = '\0';
  return end + 1 + (end[1] == ' ');
}

enum lb_status lb_keys_help(char **text, const char *name, struct lb_error *error) {
  char folded[NAME_LONGEST + 1], *made = NULL;
  fold(folded, sizeof folded, name);
  const char *section, *key_name = split(folded, &section);
  size_t size, found = 0;
  FILE *out = open_memstream(&made, &size);
  if (!out)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for the help");
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    bool asked =
        *section ? lb_keys_find(NULL, section, key_name) == key : strcmp(key->name, key_name) == 0;
    if (!asked)
      continue;
    if (found++ > 0)
      fputc('\n', out);
    help_key(out, key);
  }
  bool failed = ferror(out);
  failed |= fclose(out) != 0;
  if (found > 0 && !failed) {
    *text = made;
    return LB_OK;
  }
  free(made);
  if (failed)
    return lb_error_set(error, LB_NO_MEMORY, "no memory for the help");
  bool section_unknown = *section && !lb_keys_has_section(section);
  char advice[400];
  lb_keys_advise(advice, sizeof advice, section, section_unknown ? NULL : key_name);
  return lb_error_set(error, LB_BAD_INPUT, "'%s' is not known; %s", name, advice);
}
