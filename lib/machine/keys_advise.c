/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Advice about names that are not in the table of keys: first the words of the trade, then the same
 * name in another section, then likeness of spelling, else the list of what there is.
 */
#include "machine/keys.h"

#include <stdio.h>
#include <string.h>

/* Other words, parted by '|', and what to say about them. */
struct synonym {
  const char *words;
  const char *advice;
};

static const struct synonym key_synonyms[] = {
    {"dead volume|dead volumes|dead space|clearance|clearance volume|clearance volumes",
     "each end has its own: 'dead volume cap end' and 'dead volume rod end'"},
    {"clearance volume cap end|clearance cap end|dead space cap end|dead volume head end|"
     "head end dead volume|cap end dead volume|dead volume cap",
     "write 'dead volume cap end'"},
    {"clearance volume rod end|clearance rod end|dead space rod end|dead volume crank end|"
     "crank end dead volume|rod end dead volume|dead volume rod",
     "write 'dead volume rod end'"},
    {"rod|rod diameter|piston rod diameter|shaft", "write 'piston rod' in [cylinder]"},
    {"diameter|cylinder diameter|piston diameter|cylinder bore|piston",
     "write 'bore' in [cylinder]"},
    {"throw|crank throw|crank radius|radius|crank",
     "write 'stroke' in [cylinder], which is twice the crank radius (a throw can mean either)"},
    {"cutoff|cut off|inlet closes|inlet shuts|inlet close|admission ends|admission closes|"
     "expansion begins",
     "write 'cut-off' in [timing]"},
    {"lead|pre-admission|admission|admission begins|inlet open|inlet opening",
     "write 'inlet opens' in [timing]; a lead is a negative angle"},
    {"exhaust opens|exhaust open|exhaust opening", "write 'release' in [timing]"},
    {"compression begins|exhaust close|exhaust closing|exhaust shuts",
     "write 'exhaust closes' in [timing]"},
    {"exhaust pressure", "write 'back pressure' in [exhaust]"},
    {"working pressure|operating pressure|supply pressure|line pressure|inlet pressure|"
     "air pressure|gauge pressure|boiler pressure",
     "write 'pressure' in [supply]"},
    {"max pressure|maximum pressure|pressure rating|nominal pressure|pressure limit",
     "write 'rated pressure' in [cylinder]"},
    {"ambient pressure|atmospheric pressure|barometer|barometric pressure",
     "write 'pressure' in [surroundings]"},
    {"ambient temperature|air temperature|room temperature",
     "write 'temperature' in [surroundings]"},
    {"elevation|height|height above sea level", "write 'altitude' in [surroundings]"},
    {"con rod|conrod|con-rod|rod length|connecting rod length",
     "write 'connecting rod' in [linkage]"},
    {"pivot|trunnion|trunnion distance|centre distance|center distance",
     "write 'pivot distance' in [linkage]"},
    {"eccentricity|crank offset", "write 'offset' in [linkage]"},
    {"type|linkage", "write 'kind' in [linkage]"},
    {"number of cylinders|cylinder count|cylinder", "write 'cylinders' in [machine]"},
    {"crank angle|phase|phases|phase angle|phase angles|crank phases",
     "write 'crank angles' in [machine]"},
    {"direction|direction of rotation", "write 'rotation' in [machine]"},
    {"exponent|index|polytropic exponent|expansion exponent|n", "write 'expansion' in [air]"},
    {"double acting|double-acting|single acting|single-acting|ends",
     "write 'acting' in [cylinder], with double, cap end or rod end"},
    {"stiction|breakaway|static friction|starting friction",
     "write 'breakaway friction' in [cylinder]"},
    {"leak|leakage rate|blow-by|blowby", "write 'leakage' in [cylinder]"},
    {"heat transfer|heat transfer coefficient|wall heat",
     "write 'wall heat transfer' in [cylinder]"},
    {"ramp|valve ramp|opening time", "write 'opening ramp' in [timing]"},
    {"speed|rpm|revolutions", "a machine file has no speed; give it with the option --speed"},
};

static const struct synonym section_synonyms[] = {
    {"engine|motor|general", "write [machine]"},
    {"ambient|atmosphere|environment|site", "write [surroundings]"},
    {"air supply|inlet|feed|compressed air", "write [supply]"},
    {"outlet", "write [exhaust]"},
    {"gas|expansion", "write [air]"},
    {"piston|cylinders", "write [cylinder]"},
    {"crank|connecting rod|mechanism|crankshaft", "write [linkage]"},
    {"valves|valve timing|events", "write [timing]"},
    {"cap end|timing cap|timing head end|cap end timing", "write [timing cap end]"},
    {"rod end|timing rod|timing crank end|rod end timing", "write [timing rod end]"},
};

/* Whether a name is one of the words parted by '|'. */
static bool among(const char *words, const char *name) {
  size_t length = strlen(name);
  for (const char *at = words; *at;) {
    size_t word = strcspn(at, "|");
    if (word == length && memcmp(at, name, length) == 0)
      return true;
    at += word + (at[word] == '|');
  }
  return false;
}

static const char *synonym_advice(const struct synonym *synonyms, size_t count, const char *name) {
  for (size_t i = 0; i < count; i++)
    if (among(synonyms[i].words, name))
      return synonyms[i].advice;
  return NULL;
}

enum {
  LONGEST = 49 /* bytes of a name; lb_textfile refuses longer ones */
};

static size_t least(size_t a, size_t b) {
  return a < b ? a : b;
}

/* Number of letters to add, drop or replace to turn one name into the other; row[j] is the distance
 * between the part of `a` done so far and the first j letters of `b`. */
static size_t distance(const char *a, const char *b) {
  size_t width = strlen(b), row[LONGEST + 1];
  if (strlen(a) > LONGEST || width > LONGEST)
    return LONGEST;
  for (size_t j = 0; j <= width; j++)
    row[j] = j;
  for (size_t i = 0; a[i]; i++) {
    size_t corner = row[0];
    row[0] = i + 1;
    for (size_t j = 0; j < width; j++) {
      size_t replaced = corner + (a[i] != b[j]);
      corner = row[j + 1];
      row[j + 1] = least(replaced, least(row[j], corner) + 1);
    }
  }
  return row[width];
}

/* How far off a known name may be to be offered: a third of the letters, at least one. */
static size_t farthest(const char *name) {
  size_t third = strlen(name) / 3;
  return third > 0 ? third : 1;
}

/* The key most like a name; among equals one of the section it stands in. */
static const struct lb_key *nearest_key(const char *section, const char *name) {
  const struct lb_key *best = NULL;
  size_t best_rank = 2 * farthest(name) + 2;
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    bool elsewhere = lb_keys_find(NULL, section, key->name) != key;
    size_t rank = 2 * distance(name, key->name) + elsewhere;
    if (rank < best_rank) {
      best = key;
      best_rank = rank;
    }
  }
  return best;
}

/* The sections in the order of the machine file: number `index`, or NULL past the last. */
static const char *section_at(size_t index) {
  const char *last = "";
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    if (strcmp(key->section, last) == 0)
      continue;
    last = key->section;
    size_t sections = key->of_end ? LB_ENDS + 1 : 1;
    if (index < sections)
      return lb_keys_section(key, index == 0 ? LB_ENDS : (enum lb_end)(index - 1));
    index -= sections;
  }
  return NULL;
}

static void advise_section(char *advice, size_t size, const char *section) {
  const char *words = synonym_advice(section_synonyms,
                                     sizeof section_synonyms / sizeof section_synonyms[0], section);
  const char *best = NULL, *known;
  size_t best_distance = farthest(section) + 1;
  for (size_t i = 0; (known = section_at(i)); i++)
    if (distance(section, known) < best_distance) {
      best = known;
      best_distance = distance(section, known);
    }
  if (words || best) {
    snprintf(advice, size, "%s%s%s", words ? words : "the nearest known section is [",
             words ? "" : best, words ? "" : "]");
    return;
  }
  size_t used = (size_t)snprintf(advice, size, "the sections are");
  for (size_t i = 0; (known = section_at(i)) && used < size; i++)
    used += (size_t)snprintf(advice + used, size - used, "%s [%s]", i ? "," : "", known);
}

/* "[exhaust] has back pressure, ..." */
static void list_keys(char *advice, size_t size, const char *section) {
  size_t used = (size_t)snprintf(advice, size, "[%s] has", section);
  const char *separator = " ";
  for (size_t i = 0; i < lb_keys_count() && used < size; i++) {
    const struct lb_key *key = lb_keys_get(i);
    if (lb_keys_find(NULL, section, key->name) != key)
      continue;
    used += (size_t)snprintf(advice + used, size - used, "%s%s", separator, key->name);
    separator = ", ";
  }
}

void lb_keys_advise(char *advice, size_t size, const char *section, const char *name) {
  if (!name) {
    advise_section(advice, size, section);
    return;
  }
  const char *words =
      synonym_advice(key_synonyms, sizeof key_synonyms / sizeof key_synonyms[0], name);
  const struct lb_key *best = nearest_key(section, name);
  if (words)
    snprintf(advice, size, "%s", words);
  else if (best && lb_keys_find(NULL, section, best->name) == best)
    snprintf(advice, size, "the nearest known key is '%s'", best->name);
  else if (best)
    snprintf(advice, size, "the nearest known key is '%s' in [%s]", best->name, best->section);
  else if (!*section)
    snprintf(advice, size, "the starter file lists all keys");
  else
    list_keys(advice, size, section);
}
