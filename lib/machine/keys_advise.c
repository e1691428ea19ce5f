/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Advice about names that are not in the table of keys: first the words of the trade, then the same
 * name in another section, then likeness of spelling, else the list of what there is.
 */
#include "machine/keys.h"

#include "base/format.h"
#include "base/plain.h"

#include <string.h>

/* Other words, parted by '|', and what to say about them. A key that is meant stands in quotes,
 * and its section in brackets unless it is the same as that of the unknown key: lb_keys_points_at
 * reads them there. */
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
    {"rod|rod dia|rod diameter|piston rod dia|piston rod diameter|shaft",
     "write 'piston rod' in [cylinder]"},
    {"dia|diameter|cylinder diameter|piston diameter|cylinder bore|piston",
     "write 'bore' in [cylinder]"},
    {"throw|crank throw|crank radius|radius|crank",
     "write 'stroke' in [cylinder], which is twice the crank radius (a throw can mean either)"},
    {"cutoff|cut off|inlet closes|inlet shuts|inlet close|admission ends|admission closes|"
     "expansion begins",
     "write 'cut-off' in [timing]"},
    {"lead|pre-admission|admission begins|inlet open|inlet opening",
     "write 'inlet opens' in [timing]; a lead is a negative angle"},
    {"admission", "write 'inlet opens' or 'cut-off' in [timing], as admission can mean either"},
    {"exhaust opens|exhaust open|exhaust opening", "write 'release' in [timing]"},
    {"compression begins|exhaust close|exhaust closing|exhaust shuts",
     "write 'exhaust closes' in [timing]"},
    {"compression", "write 'exhaust closes' in [timing]; the law of compression stands in [air]"},
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
    {"opening delay|switch-on delay|turn-on delay|response time|delay|valve delay",
     "write 'on delay' in [inlet valve] or [exhaust valve]"},
    {"closing delay|switch-off delay|turn-off delay",
     "write 'off delay' in [inlet valve] or [exhaust valve]"},
    {"c|c value|sonic conductance|valve conductance|flow conductance",
     "write 'conductance' in [inlet valve] or [exhaust valve]"},
    {"b|b value|critical pressure ratio",
     "write 'critical ratio' in [inlet valve] or [exhaust valve]"},
    {"kv value|kvs|kvs value",
     "write 'kv' in [inlet valve] or [exhaust valve], e.g. kv = 0.3 m3/h"},
    {"cv value|flow coefficient|flow factor", "write 'cv' in [inlet valve] or [exhaust valve]"},
    {"flow|flow rate|nominal flow rate|standard nominal flow|standard nominal flow rate|qn|qnn",
     "write 'nominal flow' in [inlet valve] or [exhaust valve]"},
    {"area|equivalent area|effective sectional area|sectional area|valve area",
     "write 'effective area' in [inlet valve] or [exhaust valve]"},
    {"orifice diameter|seat diameter|port diameter|nominal diameter|nominal size|dn|port",
     "write 'orifice' in [inlet valve] or [exhaust valve]"},
    {"cd|discharge|coefficient of discharge|flow coefficient cd",
     "write 'discharge coefficient' in [inlet valve] or [exhaust valve]"},
    {"valve leakage|valve leak", "write 'seat leakage' in [inlet valve] or [exhaust valve]"},
    {"gland leakage|rod leakage|packing leakage", "write 'rod seal leakage' in [cylinder]"},
    {"pilot pressure|least pilot pressure|minimum pilot pressure|minimum operating pressure|"
     "minimum pressure|least pressure",
     "write 'pilot least pressure' in [inlet valve] or [exhaust valve]"},
    {"receiver|buffer|buffer volume", "write 'receiver volume' in [supply]"},
    {"tank|tank volume|bottle|bottle volume|vessel volume|water capacity|store volume",
     "write 'volume' in [store], which the machine runs from, or 'receiver volume' in [supply], at "
     "its valves"},
    {"tank pressure|bottle pressure|store pressure|fill pressure|filling pressure|charge pressure|"
     "initial pressure",
     "write 'start pressure' in [store]"},
    {"end pressure|final pressure|reserve|reserve pressure", "write 'lowest pressure' in [store]"},
    {"walls|time constant|tank heat", "write 'heat' in [store]"},
    {"tare|tank mass|bottle mass|vessel weight|tank weight|bottle weight",
     "write 'vessel mass' in [store]"},
    {"pw|ps|wp|stamped pressure", "write 'marked pressure' in [store]"},
    {"regulated pressure|outlet pressure|delivery pressure|regulator pressure",
     "write 'set pressure' in [regulator]"},
    {"pressure difference|minimum difference|dropout", "write 'least difference' in [regulator]"},
    {"weight|total mass|vehicle mass|vehicle weight|all-up weight", "write 'mass' in [load]"},
    {"crr|rolling coefficient|rolling friction|rolling resistance coefficient",
     "write 'rolling resistance' in [load]"},
    {"cda|drag|air resistance|drag coefficient|frontal area",
     "write 'drag area' in [load], drag coefficient times frontal area"},
    {"slope|incline|grade|inclination", "write 'gradient' in [load]"},
    {"wind|headwind|wind speed", "write 'head wind' in [load]"},
    {"wheel|wheels|wheel size|wheel radius", "write 'wheel diameter' in [load]"},
    {"gearing|gear|gear ratio|ratio|transmission ratio|chain ratio",
     "write 'wheel turns per crank turn' in [load]"},
    {"efficiency|drive loss|transmission efficiency|chain efficiency",
     "write 'drive efficiency' in [load]"},
    {"freewheel|free wheel|overrun|coast", "write 'coasting' in [load]"},
    {"line|supply line|supply conductance|hose conductance",
     "write 'line conductance' in [supply]"},
    {"tube length|hose length|pipe length", "write 'length' in [tube]"},
    {"tube bore|hose bore|pipe bore|tube diameter|hose diameter|inner diameter|inside diameter|id",
     "write 'bore' in [tube]"},
    {"disc diameter|disk diameter|outside diameter|disc",
     "write 'outer diameter' in [switch disc]"},
    {"keyway|key|key width", "write 'keyway width' and 'keyway depth' in [switch disc]"},
    {"pitch circle|pitch circle diameter|pcd|hole circle", "write 'bolt circle' in [switch disc]"},
    {"bolts|holes|number of bolts|number of holes", "write 'bolt count' in [switch disc]"},
    {"bolt diameter|hole diameter|bolt hole diameter", "write 'bolt hole' in [switch disc]"},
    {"base circle|base circle radius", "write 'base radius' in [cam], half of a diameter"},
    {"cam lift|valve lift", "write 'lift' in [cam]"},
    {"roller|roller diameter|follower", "write 'roller radius' in [cam], half of a diameter"},
    {"law of motion|cam law|cam profile", "write 'motion law' in [cam]"},
    {"pressure angle|maximum pressure angle", "write 'pressure angle limit' in [cam]"},
    {"resolution|pulses|pulses per turn|pulses per revolution|ppr|cpr|counts|"
     "counts per revolution|lines|line count",
     "write 'counts per turn' in [encoder]"},
    {"quadrature|multiplier|edges", "write 'multiply' in [encoder], with 1 or 4"},
    {"ramp|valve ramp|opening time", "write 'opening ramp' in [timing]"},
    {"speed|rpm|revolutions|revolutions per minute|running speed|crank speed",
     "a machine file has no speed: cutoff, cycle and table take --speed '120 rpm', and curves "
     "goes over all speeds; the delays of valves are made up for at the 'compensated speed' of a "
     "[switch disc]"},
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
    {"disc|disk|switch disk|timing disc|timing disk|switching disc|shutter", "write [switch disc]"},
    {"cams|camshaft|cam disc", "write [cam]"},
    {"rotary encoder|shaft encoder|resolver", "write [encoder]"},
    {"intake valve|admission valve|inlet solenoid|inlet delay", "write [inlet valve]"},
    {"outlet valve|release valve|exhaust solenoid|exhaust delay", "write [exhaust valve]"},
    {"hose|hoses|pipe|pipes|piping|tubing|tubes|line", "write [tube]"},
    {"receiver|supply line|regulator line", "write [supply]"},
    {"tank|bottle|vessel|air tank|air bottle|reservoir|storage|air store", "write [store]"},
    {"reducer|pressure regulator|reducing valve|pressure reducer", "write [regulator]"},
    {"vehicle|car|trolley|tram|locomotive load|road load|resistance", "write [load]"},
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

/* Whether a known name is like enough to be offered: it differs in a third of the letters at most,
 * or in one more where the first letter is right. */
static bool is_like(const char *name, const char *known) {
  const size_t short_name = 4;
  size_t length = strlen(name), farthest = length / 3 > 0 ? length / 3 : 1;
  if (length >= short_name && name[0] == known[0])
    farthest++;
  return lb_plain_distance(name, known) <= farthest;
}

/* The key most like a name; among equals one of the section it stands in. */
static const struct lb_key *nearest_key(const char *section, const char *name) {
  const struct lb_key *best = NULL;
  size_t best_rank = 0;
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    bool elsewhere = lb_keys_find(NULL, section, key->name) != key;
    size_t rank = 2 * lb_plain_distance(name, key->name) + elsewhere;
    if (is_like(name, key->name) && (!best || rank < best_rank)) {
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

/* The section most like a name, or NULL. */
static const char *nearest_section(const char *name) {
  const char *best = NULL, *known;
  for (size_t i = 0; (known = section_at(i)); i++)
    if (is_like(name, known) &&
        (!best || lb_plain_distance(name, known) < lb_plain_distance(name, best)))
      best = known;
  return best;
}

/* Advice that names the section that is meant. Returns false when none is. */
static bool advise_meant_section(char *advice, size_t size, const char *section) {
  const char *words = synonym_advice(section_synonyms,
                                     sizeof section_synonyms / sizeof section_synonyms[0], section);
  const char *best = nearest_section(section);
  if (words)
    lb_format(advice, size, "%s", words);
  else if (best)
    lb_format(advice, size, "the nearest known section is [%s]", best);
  return words || best;
}

static void advise_section(char *advice, size_t size, const char *section) {
  const char *known;
  if (advise_meant_section(advice, size, section))
    return;
  size_t used = (size_t)lb_format(advice, size, "the sections are");
  for (size_t i = 0; (known = section_at(i)) && used < size; i++)
    used += (size_t)lb_format(advice + used, size - used, "%s [%s]", i ? "," : "", known);
}

/* "'pressure' belongs in [surroundings] or [supply]". Returns false when no section has it. */
static bool advise_other_section(char *advice, size_t size, const char *name) {
  size_t used = 0;
  for (size_t i = 0; i < lb_keys_count() && used < size; i++) {
    const struct lb_key *key = lb_keys_get(i);
    if (strcmp(key->name, name) != 0)
      continue;
    if (used == 0)
      used = (size_t)lb_format(advice, size, "'%s' belongs in [%s]", name, key->section);
    else
      used += (size_t)lb_format(advice + used, size - used, " or [%s]", key->section);
  }
  return used > 0;
}

/* "[exhaust] has back pressure, ..." */
static void list_keys(char *advice, size_t size, const char *section) {
  size_t used = (size_t)lb_format(advice, size, "[%s] has", section);
  const char *separator = " ";
  for (size_t i = 0; i < lb_keys_count() && used < size; i++) {
    const struct lb_key *key = lb_keys_get(i);
    if (lb_keys_find(NULL, section, key->name) != key)
      continue;
    used += (size_t)lb_format(advice + used, size - used, "%s%s", separator, key->name);
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
    lb_format(advice, size, "%s", words);
  else if (advise_other_section(advice, size, name))
    return;
  else if (best && lb_keys_find(NULL, section, best->name) == best)
    lb_format(advice, size, "the nearest known key is '%s'", best->name);
  else if (best)
    lb_format(advice, size, "the nearest known key is '%s' in [%s]", best->name, best->section);
  else if (!*section)
    lb_format(advice, size, "'lastbar help' lists all keys");
  else
    list_keys(advice, size, section);
}

bool lb_keys_points_at(const struct lb_key *key, const char *section, const char *name) {
  char advice[400] = "", quoted[LB_PLAIN_SHOWN], bracketed[LB_PLAIN_SHOWN];
  lb_format(quoted, sizeof quoted, "'%s'", key->name);
  lb_format(bracketed, sizeof bracketed, "[%s]", key->section);
  if (!name)
    return advise_meant_section(advice, sizeof advice, section) && strstr(advice, bracketed);
  lb_keys_advise(advice, sizeof advice, section, name);
  return strstr(advice, quoted) && (strstr(advice, bracketed) ||
                                    (!strchr(advice, '[') && strcmp(section, key->section) == 0));
}
