/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The keys of the machine file: one table that reading, checking, writing and helping all use.
 *
 * A row says what a key is called, what it measures, where its value lives in struct lb_machine,
 * between which limits it may lie and why, what holds when it is left out, and how a builder
 * measures it. To add a key, add a row; nothing else has to know it, unless it is of a new kind or
 * takes part in a rule (machine/check.h).
 *
 * The keys of [timing] may also stand in [timing cap end] and [timing rod end], where they hold for
 * that end alone. A key of a text is therefore a row together with an end: LB_CAP_END or LB_ROD_END
 * for those two sections, LB_ENDS for [timing] and every other section.
 */
#ifndef LASTBAR_MACHINE_KEYS_H
#define LASTBAR_MACHINE_KEYS_H

#include "base/status.h"
#include "base/textfile.h"
#include "base/units.h"
#include "machine/machine.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* How the text of a value is read. */
enum lb_key_kind {
  LB_KEY_TEXT,     /* any text: the machine's name */
  LB_KEY_COUNT,    /* a whole number */
  LB_KEY_CHOICE,   /* one of a few words */
  LB_KEY_QUANTITY, /* a number with its unit */
  LB_KEY_ANGLES,   /* a list of angles, one for each cylinder */
  LB_KEY_EXPONENT, /* adiabatic, isothermal or a number */
  LB_KEY_EVENT,    /* an angle, or a share of the stroke where `stroke` of the row says so */
  LB_KEY_RAMP,     /* an angle or a time */
  LB_KEY_RATING,   /* an amount of air at a pressure */
  LB_KEY_HEAT,     /* isothermal, adiabatic or a time */
  LB_KEY_GRADIENT  /* a fraction, "1 in 80", or an angle, whose tangent it is */
};

/* When a key matters. */
enum lb_key_when {
  LB_WHEN_ALWAYS,
  LB_WHEN_CAP_END,        /* the cap end works */
  LB_WHEN_ROD_END,        /* the rod end works */
  LB_WHEN_CONNECTING_ROD, /* the linkage is a connecting rod */
  LB_WHEN_SWINGING,       /* the cylinder swings */
  LB_WHEN_SECTION,        /* its section stands in the text, if only by its header */
  LB_WHEN_ORIFICE,        /* its section gives an orifice */
  LB_WHEN_TORQUE,         /* the load is a torque or none, not a vehicle */
  LB_WHEN_VEHICLE,        /* the load is a vehicle, given by its mass */
  LB_WHEN_LOAD,           /* there is a load */
  LB_WHEN_GIVEN           /* it is given: few machines have it */
};

/* Which share of the stroke an event may be given as. */
enum lb_key_stroke {
  LB_STROKE_NONE,
  LB_STROKE_AWAY, /* "40 % of stroke", from the end's own dead centre */
  LB_STROKE_BACK  /* "60 % of return stroke", from the opposite dead centre */
};

enum {
  LB_KEY_CHOICES = 4, /* size of a list of words, closing NULL included */
  LB_KEYS_MOST = 128, /* at least lb_keys_count() */
  LB_KEYS_NUMBER = 40 /* bytes of a number as text, its closing zero included */
};

/* Longest time that a valve may take to open [s]; the limits of "opening ramp" are of its angle. */
#define LB_RAMP_TIME_MOST 1.0

/* One row. Strings are never NULL unless it is said here. */
struct lb_key {
  const char *section; /* lower case, as lb_textfile folds it */
  const char *name;    /* likewise */
  bool of_end;         /* a key of timing: each end may have its own */
  enum lb_key_kind kind;
  enum lb_quantity quantity; /* of the number in the text */

  /* Where the value lives: at `offset`, counted from the start of struct lb_machine or, with
   * `of_end`, of the end's struct lb_timing; there is a double, for a count an int, for a choice of
   * two a bool that is true for the second word. Other values go through `load` and `store`; that
   * of a choice is the index of its word. */
  size_t offset;
  double (*load)(const struct lb_machine *machine);        /* or NULL */
  void (*store)(struct lb_machine *machine, double value); /* or NULL */
  size_t flag;           /* offset of a bool that says whether the value is stated, or its section
                            given; 0: none */
  bool zero_is_unstated; /* 0 in the machine means that the value is not stated */
  bool restates;         /* the value is kept under another key: altitude, runs light at */
  bool another_way;      /* says in another way what the first key of its section says */
  bool may_be_unknown;   /* "unknown" may stand for it: usual values are tried in its place */

  const char *choice[LB_KEY_CHOICES]; /* closed by NULL */
  enum lb_key_stroke stroke;
  double least, most; /* limits of the value [SI unit of quantity], both allowed */
  bool above_ambient; /* the limits count from the ambient pressure */
  const char *limits; /* the limits in words, with their reason, for messages; "" if none */

  enum lb_key_when when;   /* when it matters */
  bool required;           /* and whether it must be given then */
  const char *alternative; /* the key of the same section that says the same, or NULL */
  const char *otherwise;   /* what holds when it is not given, in words; "" if required */
  bool only_at_speed;      /* the slow cycle leaves it out */

  const char *unit, *inch_unit; /* units to show it in; "" for none */
  const char *example;          /* a value for a starter file, which reads without errors */
  const char *telling;          /* a value that shows more, for messages and help, or NULL */
  const char *share;            /* for messages and help: an event as a share, or NULL */
  const char *choice_hint;      /* what the words of a choice mean, for messages, or NULL */
  const char *meaning;          /* what it is: a phrase without full stop */
  const char *measure;          /* how to find it on the machine: a sentence or two */
  const char *usual;            /* usual values: a phrase without full stop */
};

/* Which keys a text gave. */
struct lb_given {
  /* By the end of the section, then the index of the row; borrowed from the text. NULL: not given,
   * so that the default, or [timing], holds. */
  const struct lb_entry *entry[LB_ENDS + 1][LB_KEYS_MOST];
};

/* The rows, in the order of a machine file, the keys of a section together. */
size_t lb_keys_count(void);

/* Row number index, 0 ... lb_keys_count() - 1; the table is constant. */
const struct lb_key *lb_keys_get(size_t index);

/* The row of a section and key, both in lower case with single blanks, or NULL.
 * end  out: the end the section belongs to, or LB_ENDS; may be NULL */
const struct lb_key *lb_keys_find(enum lb_end *end, const char *section, const char *name);

/* The number of a row that came from one of the two functions above. */
size_t lb_keys_index(const struct lb_key *key);

/* Whether any key has this section. */
bool lb_keys_has_section(const char *section);

/* The section a row has for an end: "timing cap end"; for LB_ENDS, and for rows that are not of an
 * end, the row's own. */
const char *lb_keys_section(const struct lb_key *key, enum lb_end end);

/* Whether two rows say the same in different ways, so that one of them at most may be given: a
 * row with another_way, another such of its section, and the section's first. */
bool lb_keys_same(const struct lb_key *one, const struct lb_key *other);

/* Which section decides a row at an end: LB_ENDS for the row's own, else the end, when the text
 * gave the key in the end's section. */
enum lb_end lb_keys_deciding(const struct lb_given *given, const struct lb_key *key,
                             enum lb_end end);

/* Advice about a section, or about a key of a known section, that is not in the table: the nearest
 * known name by the words of the trade ("clearance volume" is a dead volume) and by likeness of
 * spelling, else what there is to choose from.
 * advice   out: a clause for the second half of a message, cut off at `size` bytes
 * section  "" when it is not said
 * name     the unknown key, or NULL when the section itself is unknown */
void lb_keys_advise(char *advice, size_t size, const char *section, const char *name);

/* Whether that advice says that a key was meant, so that it is only misspelt and not missing.
 * section, name  as for lb_keys_advise */
bool lb_keys_points_at(const struct lb_key *key, const char *section, const char *name);

/* Whether a machine has a single number for a row: not for a text, a list, a rating, an altitude
 * (kept as pressure), what is left open (a cut-off left to the rule), or what its linkage or its
 * load lacks.
 * end  which end, for a row of an end; with LB_ENDS it is the cap end if that works, else the rod
 *      end */
bool lb_keys_stated(const struct lb_key *key, enum lb_end end, const struct lb_machine *machine);

/* That number [SI unit of quantity], the index of the word for a choice, the angle for LB_KEY_RAMP,
 * 0 for isothermal and infinity for adiabatic with LB_KEY_HEAT; NaN when it is not stated. */
double lb_keys_value(const struct lb_key *key, enum lb_end end, const struct lb_machine *machine);

/* Put a value into a machine; with LB_ENDS, at both ends. Not for LB_KEY_TEXT, LB_KEY_ANGLES,
 * LB_KEY_RAMP and LB_KEY_RATING, which are not single numbers. The limits are not tested. */
void lb_keys_put(const struct lb_key *key, enum lb_end end, struct lb_machine *machine,
                 double value);

/* Whether a value lies within the limits of its row.
 * value    [SI unit of quantity]
 * ambient  [Pa absolute] for limits that count from it
 * shown    the value as the reader knows it, e.g. "-5 mm", for the message
 * Fails (LB_BAD_INPUT) with "'SHOWN' is too small; LIMITS" or the like, also when it is not
 * finite. */
enum lb_status lb_keys_limit(const struct lb_key *key, double value, double ambient,
                             const char *shown, struct lb_error *error);

/* A number as messages about a machine show it: to six digits, without closing zeros.
 * text   out: text[LB_KEYS_NUMBER]
 * value  finite
 * Returns text. */
const char *lb_keys_number(char *text, double value);

/* The value of a row in a machine as a person would write it, in the row's unit, to six digits:
 * "50 mm", "double", "0 deg, 120 deg, 240 deg"; "not given" where the machine holds none.
 * text  out: cut off at `size` bytes
 * end   as in lb_keys_value
 * inch  whether to use inch units */
void lb_keys_show(char *text, size_t size, const struct lb_key *key, enum lb_end end,
                  const struct lb_machine *machine, bool inch);

/* A starter file: required keys with the values of an example machine, the others as comments that
 * only need their mark removed, all of them explained. It reads without errors as it is.
 * Returns text to be released with free, or NULL when memory runs out. */
char *lb_keys_starter(void);

/* Help on a key: what it is, how to measure it, usual values, the default, how to write it.
 * text  out: to be released with free; unchanged on failure
 * name  "bore", "cylinder.bore" or "[cylinder] bore", in any case; a bare name that stands in
 *       several sections gives the help on each
 * Fails (LB_BAD_INPUT) for an unknown key, with advice, and with LB_NO_MEMORY. */
enum lb_status lb_keys_help(char **text, const char *name, struct lb_error *error);

#ifdef __cplusplus
}
#endif

#endif
