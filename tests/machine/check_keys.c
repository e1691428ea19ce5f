/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The table of keys against itself and against the reader: nothing in it that could not be read,
 * shown or explained; the starter file; help; advice.
 */
#include "base/constants.h"
#include "machine/glossary.h"
#include "machine/keys.h"
#include "machine/read.h"
#include "machine/read_value.h"
#include "machine_text.h"
#include "support.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
  KEYS = 118,    /* in machine, surroundings, supply, exhaust, air, cylinder, linkage, timing, load,
                    and in sections of their own: 4 + 4 + 5 + 1 + 2 + 16 + 4 + 6 + 12 + 64 */
  WORKSHOP = 64, /* store, regulator, inlet valve, exhaust valve, tube, switch disc, cam, encoder:
                    9 + 3 + 13 + 13 + 3 + 13 + 6 + 4 */
  SIZES = 13 /* of the valves' keys, those that say a size in another way, and the coefficient of an
                orifice; the store's rating */
};

START_TEST(rows_are_whole) {
  ck_assert_uint_eq(lb_keys_count(), KEYS);
  ck_assert_uint_le(lb_keys_count(), LB_KEYS_MOST);
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    enum lb_end end;
    ck_assert(lb_keys_find(&end, key->section, key->name) == key && end == LB_ENDS);
    ck_assert_uint_eq(lb_keys_index(key), i);
    ck_assert(lb_keys_has_section(key->section));
    ck_assert(*key->meaning && *key->measure && *key->usual && *key->example);
    ck_assert_msg(key->required == (*key->otherwise == '\0'), "%s", key->name);
    ck_assert_msg((key->least < key->most) == (*key->limits != '\0'), "%s", key->name);
    if (!key->alternative)
      continue;
    const struct lb_key *other = lb_keys_find(NULL, key->section, key->alternative);
    ck_assert(other && strcmp(other->alternative, key->name) == 0);
    ck_assert(key->restates != other->restates);
  }
  ck_assert(!lb_keys_has_section("battery") && !lb_keys_find(NULL, "cylinder", "battery"));
}
END_TEST

START_TEST(timing_has_three_sections) {
  enum lb_end end;
  const struct lb_key *key = lb_keys_find(&end, "timing rod end", "cut-off");
  ck_assert(key && end == LB_ROD_END && key == lb_keys_find(&end, "timing cap end", "cut-off"));
  ck_assert(end == LB_CAP_END && key == lb_keys_find(&end, "timing", "cut-off"));
  ck_assert(end == LB_ENDS);
  ck_assert_str_eq(lb_keys_section(key, LB_CAP_END), "timing cap end");
  ck_assert_str_eq(lb_keys_section(key, LB_ENDS), "timing");
  ck_assert(lb_keys_has_section("timing rod end"));
  ck_assert(!lb_keys_has_section("cylinder cap end"));
}
END_TEST

/* The numbers in the words of the limits are the limits: the first and the second that carry a
 * unit, or stand before one, read back to `least` and `most`. */
START_TEST(limits_are_what_they_say) {
  static const struct {
    const char *section, *name, *least, *most;
  } said[] = {
      {"surroundings", "altitude", "-1000 m", "11000 m"},
      {"surroundings", "pressure", "0.1 bar absolute", "2 bar absolute"},
      {"surroundings", "temperature", "-60 degC", "60 degC"},
      {"surroundings", "humidity", "0 %", "100 %"},
      {"supply", "pressure", "0.01 bar absolute", "100 bar absolute"},
      {"supply", "temperature", "-60 degC", "200 degC"},
      {"supply", "dew point", "-100 degC", "100 degC"},
      {"supply", "line conductance", "0.0001 L/(s bar)", "10000 L/(s bar)"},
      {"supply", "receiver volume", "1 cm3", "100 m3"},
      {"exhaust", "back pressure", "0.01 bar absolute", "100 bar absolute"},
      {"air", "expansion", "1", "1.42"},
      {"air", "compression", "1", "1.42"},
      {"machine", "cylinders", "1", "24"},
      {"cylinder", "bore", "1 mm", "2 m"},
      {"cylinder", "stroke", "1 mm", "5 m"},
      {"cylinder", "piston rod", "0 mm", "2 m"},
      {"cylinder", "through rod", "0 mm", "2 m"},
      {"cylinder", "dead volume cap end", "0 m3", "1 m3"},
      {"cylinder", "dead volume rod end", "0 m3", "1 m3"},
      {"cylinder", "friction", "0 N", "1 MN"},
      {"cylinder", "runs light at", "0 bar gauge", "20 bar gauge"},
      {"cylinder", "friction share", "0 %", "90 %"},
      {"cylinder", "breakaway friction", "0 N", "1 MN"},
      {"cylinder", "leakage", "0 L/(s bar)", "10000 L/(s bar)"},
      {"cylinder", "rod seal leakage", "0 L/(s bar)", "10000 L/(s bar)"},
      {"cylinder", "wall heat transfer", "0 W/(m2 K)", "10000 W/(m2 K)"},
      {"cylinder", "piston speed limit", "0.01 m/s", "100 m/s"},
      {"cylinder", "rated pressure", "0.1 bar absolute", "1000 bar absolute"},
      {"linkage", "connecting rod", "1 mm", "50 m"},
      {"linkage", "offset", "-5 m", "5 m"},
      {"linkage", "pivot distance", "1 mm", "50 m"},
      {"timing", "inlet opens", "-180 deg", "180 deg"},
      {"timing", "cut-off", "0 deg", "360 deg"},
      {"timing", "release", "0 deg", "360 deg"},
      {"timing", "exhaust closes", "0 deg", "540 deg"},
      {"timing", "opening ramp", "0 deg", "180 deg"},
      {"load", "torque", "0 N m", "1000000 N m"},
      {"load", "torque per speed", "0 N m/rpm", "100000 N m/rpm"},
      {"load", "torque per speed squared", "0 N m/rpm2", "1000 N m/rpm2"},
      {"load", "mass", "100 g", "1000 t"},
      {"load", "rolling resistance", "0", "0.5"},
      {"load", "drag area", "0 m2", "100 m2"},
      {"load", "gradient", "-100 %", "100 %"},
      {"load", "head wind", "-50 m/s", "50 m/s"},
      {"load", "wheel diameter", "1 mm", "10 m"},
      {"load", "wheel turns per crank turn", "0.001", "1000"},
      {"load", "drive efficiency", "1 %", "100 %"},
      {"store", "volume", "0.01 L", "1000 m3"},
      {"store", "rating", "1 L at 1 bar absolute", "350 L at 350 bar absolute"},
      {"store", "start pressure", "0.1 bar absolute", "350 bar absolute"},
      {"store", "lowest pressure", "0.01 bar absolute", "350 bar absolute"},
      {"store", "temperature", "-60 degC", "120 degC"},
      {"store", "heat", "1 s", "1000 h"},
      {"store", "leakage", "0 L/(s bar)", "10000 L/(s bar)"},
      {"store", "vessel mass", "1 g", "1000 t"},
      {"store", "marked pressure", "0.1 bar absolute", "1000 bar absolute"},
      {"regulator", "set pressure", "0.01 bar absolute", "100 bar absolute"},
      {"regulator", "droop", "0 bar/(L/s)", "10000 bar/(L/s)"},
      {"regulator", "least difference", "0 bar", "50 bar"},
      {"inlet valve", "conductance", "0.0001 L/(s bar)", "10000 L/(s bar)"},
      {"inlet valve", "critical ratio", "0", "0.9"},
      {"inlet valve", "subsonic index", "0.2", "1"},
      {"inlet valve", "kv", "0.00001 m3/h", "1000 m3/h"},
      {"inlet valve", "cv", "0.00001", "1000"},
      {"inlet valve", "effective area", "0.0001 mm2", "100000 mm2"},
      {"inlet valve", "orifice", "0.01 mm", "1 m"},
      {"inlet valve", "discharge coefficient", "0.1", "1"},
      {"inlet valve", "nominal flow", "0.001 L/min ANR", "10000000 L/min ANR"},
      {"inlet valve", "seat leakage", "0 L/(s bar)", "10000 L/(s bar)"},
      {"inlet valve", "pilot least pressure", "0 bar gauge", "20 bar gauge"},
      {"inlet valve", "on delay", "0 s", "1 s"},
      {"inlet valve", "off delay", "0 s", "1 s"},
      {"exhaust valve", "conductance", "0.0001 L/(s bar)", "10000 L/(s bar)"},
      {"exhaust valve", "critical ratio", "0", "0.9"},
      {"exhaust valve", "subsonic index", "0.2", "1"},
      {"exhaust valve", "kv", "0.00001 m3/h", "1000 m3/h"},
      {"exhaust valve", "cv", "0.00001", "1000"},
      {"exhaust valve", "effective area", "0.0001 mm2", "100000 mm2"},
      {"exhaust valve", "orifice", "0.01 mm", "1 m"},
      {"exhaust valve", "discharge coefficient", "0.1", "1"},
      {"exhaust valve", "nominal flow", "0.001 L/min ANR", "10000000 L/min ANR"},
      {"exhaust valve", "seat leakage", "0 L/(s bar)", "10000 L/(s bar)"},
      {"exhaust valve", "pilot least pressure", "0 bar gauge", "20 bar gauge"},
      {"exhaust valve", "on delay", "0 s", "1 s"},
      {"exhaust valve", "off delay", "0 s", "1 s"},
      {"tube", "length", "1 mm", "100 m"},
      {"tube", "bore", "0.5 mm", "500 mm"},
      {"switch disc", "outer diameter", "10 mm", "2 m"},
      {"switch disc", "bore", "1 mm", "1 m"},
      {"switch disc", "keyway width", "0 mm", "200 mm"},
      {"switch disc", "keyway depth", "0 mm", "200 mm"},
      {"switch disc", "bolt circle", "0 mm", "2 m"},
      {"switch disc", "bolt count", "0", "24"},
      {"switch disc", "bolt hole", "0 mm", "100 mm"},
      {"switch disc", "track radius", "1 mm", "1 m"},
      {"switch disc", "track width", "0.1 mm", "200 mm"},
      {"switch disc", "track spacing", "0.1 mm", "400 mm"},
      {"switch disc", "switch offset", "-360 deg", "360 deg"},
      {"switch disc", "least arc", "0 mm", "100 mm"},
      {"switch disc", "compensated speed", "0 rpm", "10000 rpm"},
      {"cam", "base radius", "1 mm", "1 m"},
      {"cam", "lift", "0.1 mm", "200 mm"},
      {"cam", "roller radius", "0.1 mm", "500 mm"},
      {"cam", "bore", "0 mm", "1 m"},
      {"cam", "pressure angle limit", "1 deg", "80 deg"},
      {"encoder", "counts per turn", "1", "100000"},
      {"encoder", "offset", "-360 deg", "360 deg"},
  };
  size_t limited = 0, count = sizeof said / sizeof said[0];
  for (size_t i = 0; i < lb_keys_count(); i++)
    limited += *lb_keys_get(i)->limits != '\0' && lb_keys_get(i)->kind != LB_KEY_ANGLES;
  ck_assert_uint_eq(limited, count);
  for (size_t i = 0; i < count; i++) {
    const struct lb_key *key = lb_keys_find(NULL, said[i].section, said[i].name);
    double ambient = key->above_ambient ? LB_ATMOSPHERE : 1,
           zero = key->above_ambient ? ambient : 0;
    struct lb_value least, most;
    char number[40];
    ck_assert_int_eq(lb_value_read(&least, key, said[i].least, ambient, NULL), LB_OK);
    ck_assert_int_eq(lb_value_read(&most, key, said[i].most, ambient, NULL), LB_OK);
    ck_close_relative(least.number - zero, key->least, IDENTITY);
    ck_close_relative(most.number - zero, key->most, IDENTITY);
    snprintf(number, sizeof number, "%.*s", (int)strcspn(said[i].most, " "), said[i].most);
    ck_assert_msg(strstr(key->limits, number) != NULL, "%s: %s", key->name, key->limits);
  }
}
END_TEST

/* Both units of every row belong to its quantity. */
START_TEST(units_are_known) {
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    double value;
    if (!*key->unit)
      continue;
    ck_assert_int_eq(lb_units_write(&value, 300, key->quantity, key->unit, 1e5, NULL), LB_OK);
    ck_assert_int_eq(lb_units_write(&value, 300, key->quantity, key->inch_unit, 1e5, NULL), LB_OK);
  }
}
END_TEST

START_TEST(starter_reads) {
  char *starter = lb_keys_starter();
  ck_assert(starter != NULL);
  struct lb_machine m = machine_text(starter, NULL);
  ck_close_relative(m.bore, 0.032, EXACT);
  ck_close_relative(m.linkage.length, 0.110, EXACT);
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    char line[100];
    bool offered = !key->another_way && key->when != LB_WHEN_ORIFICE && key->kind != LB_KEY_RATING;
    snprintf(line, sizeof line, "%s = %s\n", key->name, key->example);
    ck_assert_msg((strstr(starter, line) != NULL) == offered, "%s", line);
  }
  for (const char *at = starter; *at; at += strcspn(at, "\n") + 1)
    ck_assert_uint_le(strcspn(at, "\n"), 80);
  free(starter);
}
END_TEST

/* Take the mark off a line of a starter file. Returns whether it has that line. */
static bool uncover(char *starter, const struct lb_key *key) {
  char line[100];
  snprintf(line, sizeof line, "\n;%s = %s\n", key->name, key->example);
  char *mark = strstr(starter, line);
  if (mark)
    memmove(mark + 1, mark + 2, strlen(mark + 2) + 1);
  return mark != NULL;
}

/* Taking the mark off any line of the starter file leaves a file that reads; a swinging cylinder
 * needs its two lines changed, a supply that droops has two, and so has a vehicle. */
START_TEST(starter_lines_read) {
  char *starter = lb_keys_starter();
  int tried = 0;
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    bool workshop = key->when == LB_WHEN_SECTION || key->when == LB_WHEN_ORIFICE;
    if (key->when == LB_WHEN_SWINGING || workshop || !uncover(starter, key))
      continue;
    if (strcmp(key->name, "line conductance") == 0)
      ck_assert(uncover(starter, lb_keys_find(NULL, "supply", "receiver volume")));
    if (strcmp(key->name, "receiver volume") == 0)
      ck_assert(uncover(starter, lb_keys_find(NULL, "supply", "line conductance")));
    if (key->when == LB_WHEN_VEHICLE)
      ck_assert(uncover(starter, lb_keys_find(NULL, "load", "mass")));
    bool wheel = strcmp(key->name, "wheel diameter") == 0;
    if ((key->when == LB_WHEN_VEHICLE && !wheel) || strcmp(key->name, "mass") == 0)
      ck_assert(uncover(starter, lb_keys_find(NULL, "load", "wheel diameter")));
    machine_text(starter, NULL);
    free(starter);
    starter = lb_keys_starter();
    tried++;
  }
  free(starter);
  /* 8 are active, one is the swinging cylinder's. */
  ck_assert_int_eq(tried, KEYS - WORKSHOP - 8 - 1);
}
END_TEST

/* The sections for the workshop read with all their marks taken away, and fit each other. */
START_TEST(starter_workshop_reads) {
  char *starter = lb_keys_starter();
  char *from = strstr(starter, "\n;[store]\n");
  ck_assert(from != NULL);
  size_t marks = 0;
  for (char *at = from; (at = strstr(at, "\n;")); marks++)
    memmove(at + 1, at + 2, strlen(at + 2) + 1);
  ck_assert_uint_eq(marks, WORKSHOP - SIZES + 8);
  struct lb_machine m = machine_text(starter, NULL);
  ck_assert(m.store.given && m.regulator.given && m.store.heat == LB_STORE_ISOTHERMAL);
  ck_close_relative(m.store.volume, 0.010, EXACT);
  ck_assert(m.tube.given && m.switch_disc.given && m.cam.given && m.encoder.given);
  ck_assert(m.switch_disc.bolt_count == 3 && m.encoder.quadrupled);
  ck_close_relative(m.valve_delay[LB_EXHAUST_VALVE].off, 0.011, EXACT);
  ck_close_relative(m.valve_size[LB_INLET_VALVE].conductance, 1.4e-8, EXACT);
  free(starter);
}
END_TEST

/* Help says what a section must have, and which of it belongs to a speed. */
START_TEST(help_on_the_workshop) {
  char *text;
  ck_assert_int_eq(lb_keys_help(&text, "cam.lift", NULL), LB_OK);
  ck_assert(strstr(text, "  Where there is a section [cam], it must give it.\n"));
  ck_assert(!strstr(text, "slow cycle"));
  free(text);
  ck_assert_int_eq(lb_keys_help(&text, "inlet valve.on delay", NULL), LB_OK);
  ck_assert(strstr(text, "  Not used in the slow cycle.\n"));
  ck_assert(!strstr(text, "must give it"));
  free(text);
  ck_assert_int_eq(lb_keys_help(&text, "bore", NULL), LB_OK);
  ck_assert(strstr(text, "[cylinder] bore\n") == text);
  ck_assert(strstr(text, "\n[switch disc] bore\n") && strstr(text, "\n[cam] bore\n"));
  free(text);
}
END_TEST

START_TEST(help_on_every_key) {
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    char name[100], *dotted, *bracketed;
    snprintf(name, sizeof name, "%s.%s", key->section, key->name);
    ck_assert_int_eq(lb_keys_help(&dotted, name, NULL), LB_OK);
    snprintf(name, sizeof name, " [%s]  %s ", key->section, key->name);
    ck_assert_int_eq(lb_keys_help(&bracketed, name, NULL), LB_OK);
    ck_assert_str_eq(dotted, bracketed);
    snprintf(name, sizeof name, "  Written: %s = %s\n", key->name,
             key->telling ? key->telling : key->example);
    ck_assert(strstr(dotted, name) != NULL);
    free(dotted);
    free(bracketed);
  }
}
END_TEST

START_TEST(help_on_a_name_in_two_sections) {
  char *text = NULL;
  ck_assert_int_eq(lb_keys_help(&text, "Pressure", NULL), LB_OK);
  ck_assert(strstr(text, "[surroundings] pressure\n") && strstr(text, "[supply] pressure\n"));
  free(text);
}
END_TEST

START_TEST(help_on_unknown_keys) {
  static const char *const asked[][2] = {
      {"throw", "'throw' is not known; write 'stroke' in [cylinder], which is twice the crank "
                "radius (a throw can mean either)"},
      {"strok", "'strok' is not known; the nearest known key is 'stroke' in [cylinder]"},
      {"colour", "'colour' is not known; 'lastbar help' lists all keys"},
      {"speed", "'speed' is not known; a machine file has no speed: cutoff, cycle and table take "
                "--speed '120 rpm', and curves goes over all speeds; the delays of valves are made "
                "up for at the 'compensated speed' of a [switch disc]"},
      {"boar", "'boar' is not known; the nearest known key is 'bore' in [cylinder]"},
      {"timing.back pressure", "'timing.back pressure' is not known; 'back pressure' belongs in "
                               "[exhaust]"},
      {"cylinder.pressure", "'cylinder.pressure' is not known; 'pressure' belongs in "
                            "[surroundings] or [supply]"},
      {"exhaust.colour", "'exhaust.colour' is not known; [exhaust] has back pressure"},
      {"[engine] bore", "'[engine] bore' is not known; write [machine]"},
  };
  for (size_t i = 0; i < sizeof asked / sizeof asked[0]; i++) {
    struct lb_error error;
    char *text = NULL;
    ck_assert_int_eq(lb_keys_help(&text, asked[i][0], &error), LB_BAD_INPUT);
    ck_assert(text == NULL);
    ck_assert_str_eq(error.text, asked[i][1]);
  }
}
END_TEST

/* Every word of the trade leads to a key or section that exists. */
START_TEST(advice_names_what_exists) {
  static const char *const words[] = {"clearance",
                                      "dead space cap end",
                                      "dead volume crank end",
                                      "rod",
                                      "piston diameter",
                                      "crank radius",
                                      "inlet closes",
                                      "pre-admission",
                                      "admission",
                                      "compression",
                                      "exhaust opens",
                                      "compression begins",
                                      "exhaust pressure",
                                      "working pressure",
                                      "maximum pressure",
                                      "barometer",
                                      "room temperature",
                                      "elevation",
                                      "conrod",
                                      "trunnion",
                                      "eccentricity",
                                      "type",
                                      "number of cylinders",
                                      "phase angles",
                                      "direction",
                                      "index",
                                      "single acting",
                                      "stiction",
                                      "blow-by",
                                      "heat transfer",
                                      "ramp",
                                      "response time",
                                      "closing delay",
                                      "disk diameter",
                                      "keyway",
                                      "pitch circle",
                                      "number of bolts",
                                      "hole diameter",
                                      "base circle",
                                      "valve lift",
                                      "roller diameter",
                                      "cam law",
                                      "pressure angle",
                                      "pulses per revolution",
                                      "quadrature",
                                      "bottle volume",
                                      "tank pressure",
                                      "final pressure",
                                      "time constant",
                                      "tare",
                                      "stamped pressure",
                                      "outlet pressure",
                                      "dropout",
                                      "weight",
                                      "crr",
                                      "air resistance",
                                      "incline",
                                      "headwind",
                                      "wheel size",
                                      "gear ratio",
                                      "efficiency",
                                      "overrun"};
  for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
    char advice[400];
    bool names_key = false;
    lb_keys_advise(advice, sizeof advice, "machine", words[i]);
    for (size_t k = 0; k < lb_keys_count(); k++) {
      char quoted[60];
      snprintf(quoted, sizeof quoted, "'%s'", lb_keys_get(k)->name);
      names_key = names_key || strstr(advice, quoted);
    }
    ck_assert_msg(names_key || strstr(advice, "'acting'"), "%s: %s", words[i], advice);
    ck_assert_msg(strncmp(advice, "[machine] has", 13) != 0, "%s is no known word", words[i]);
  }
}
END_TEST

/* Examples for messages are read as the row reads values, by a machine they suit. */
START_TEST(examples_for_messages_read) {
  int tellings = 0, shares = 0;
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    char text[1000];
    const char *const values[] = {key->telling, key->share};
    tellings += key->telling != NULL;
    shares += key->share != NULL;
    ck_assert_int_eq(key->share != NULL, key->stroke != LB_STROKE_NONE);
    for (int v = 0; v < 2; v++)
      if (values[v]) {
        const char *with = key->when == LB_WHEN_VEHICLE ? "mass = 200 kg\nwheel diameter = 200 mm\n"
                           : key->kind == LB_KEY_HEAT   ? "rating = 10 L at 200 bar gauge\n"
                                                        : "";
        snprintf(text, sizeof text, "%s[machine]\ncylinders = %d\n[%s]\n%s%s = %s\n",
                 machine_text_least, strchr(values[v], ',') ? 2 : 1, key->section, with, key->name,
                 values[v]);
        machine_text(text, NULL);
      }
  }
  ck_assert_int_eq(tellings, 7);
  ck_assert_int_eq(shares, 3);
}
END_TEST

/* Advice points at the key that was meant, in its section, and at no other. */
START_TEST(advice_points_at_one_key) {
  static const struct {
    const char *section, *name, *meant_section, *meant;
  } rows[] = {{"cylinder", "boar", "cylinder", "bore"},
              {"cylinder", "rod", "cylinder", "piston rod"},
              {"supply", "working pressure", "supply", "pressure"},
              {"machine", "conrod", "linkage", "connecting rod"},
              {"machine", "stroke", "cylinder", "stroke"},
              {"linkage", "kin", "linkage", "kind"}};
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
    for (size_t k = 0; k < lb_keys_count(); k++) {
      const struct lb_key *key = lb_keys_get(k);
      bool meant = key == lb_keys_find(NULL, rows[i].meant_section, rows[i].meant);
      ck_assert_msg(lb_keys_points_at(key, rows[i].section, rows[i].name) == meant, "%s and %s",
                    rows[i].name, key->name);
    }
  const struct lb_key *bore = lb_keys_find(NULL, "cylinder", "bore");
  ck_assert(lb_keys_points_at(bore, "cilinder", NULL));
  ck_assert(lb_keys_points_at(bore, "piston", NULL));
  ck_assert(!lb_keys_points_at(bore, "suply", NULL));
  ck_assert(lb_keys_points_at(lb_keys_find(NULL, "cam", "lift"), "camshaft", NULL));
  ck_assert(lb_keys_points_at(lb_keys_find(NULL, "switch disc", "bore"), "timing disc", NULL));
  ck_assert(lb_keys_points_at(lb_keys_find(NULL, "encoder", "offset"), "shaft encoder", NULL));
  ck_assert(lb_keys_points_at(lb_keys_find(NULL, "inlet valve", "on delay"), "intake valve", NULL));
  ck_assert(!lb_keys_points_at(bore, "locomotive", NULL));
  ck_assert(!lb_keys_points_at(bore, "cylinder", "colour"));
  const struct lb_key *cap = lb_keys_find(NULL, "cylinder", "dead volume cap end");
  const struct lb_key *rod = lb_keys_find(NULL, "cylinder", "dead volume rod end");
  ck_assert(lb_keys_points_at(cap, "cylinder", "clearance"));
  ck_assert(lb_keys_points_at(rod, "cylinder", "clearance"));
}
END_TEST

START_TEST(words_are_explained) {
  static const char *const words[] = {"ANR",
                                      "cap end",
                                      "rod end",
                                      "dead centre",
                                      "cut-off",
                                      "release",
                                      "lead",
                                      "compression",
                                      "dead volume",
                                      "economy",
                                      "ceiling",
                                      "isentropic efficiency",
                                      "isothermal efficiency",
                                      "mean effective pressure",
                                      "back pressure",
                                      "dead arc",
                                      "standstill",
                                      "worth"};
  for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
    const char *text = lb_glossary_find(words[i]);
    ck_assert_msg(text != NULL, "%s", words[i]);
    ck_assert(text[strlen(text) - 1] == '.' && !strchr(text, '\n'));
    ck_assert_msg(strstr(text, words[i] + 1) != NULL, "%s", words[i]);
    for (size_t j = 0; j < i; j++)
      ck_assert_ptr_ne(text, lb_glossary_find(words[j]));
  }
  ck_assert_ptr_eq(lb_glossary_find("Dead Center"), lb_glossary_find("dead centre"));
  ck_assert_ptr_null(lb_glossary_find("cap"));
  ck_assert_ptr_null(lb_glossary_find(""));
  ck_assert_ptr_null(lb_glossary_find("free air|l anr"));
}
END_TEST

START_TEST(advice_is_cut_to_size) {
  char advice[12];
  lb_keys_advise(advice, sizeof advice, "cylinder", "colour");
  ck_assert_str_eq(advice, "[cylinder] ");
  lb_keys_advise(advice, sizeof advice, "locomotive", NULL);
  ck_assert_str_eq(advice, "the section");
}
END_TEST

static const char *shown(const char *section, const char *name, const struct lb_machine *machine,
                         bool inch) {
  static char text[200];
  enum lb_end end;
  const struct lb_key *key = lb_keys_find(&end, section, name);
  lb_keys_show(text, sizeof text, key, end, machine, inch);
  return text;
}

START_TEST(values_are_shown) {
  struct lb_machine m = machine_text(machine_text_least, NULL);
  ck_assert_str_eq(shown("machine", "name", &m, false), "Unnamed machine");
  ck_assert_str_eq(shown("cylinder", "bore", &m, false), "50 mm");
  ck_assert_str_eq(shown("cylinder", "bore", &m, true), "1.9685 in");
  ck_assert_str_eq(shown("supply", "pressure", &m, false), "6 bar gauge");
  ck_assert_str_eq(shown("surroundings", "pressure", &m, false), "1013.25 hPa absolute");
  ck_assert_str_eq(shown("surroundings", "altitude", &m, false), "not given");
  ck_assert_str_eq(shown("cylinder", "rated pressure", &m, false), "not given");
  ck_assert_str_eq(shown("cylinder", "acting", &m, false), "double");
  ck_assert_str_eq(shown("air", "expansion", &m, false), "adiabatic");
  ck_assert_str_eq(shown("timing", "cut-off", &m, false), "not given");
  ck_assert_str_eq(shown("linkage", "connecting rod", &m, false), "not given");
  m.cylinders = 2;
  m.crank_angle[1] = LB_PI;
  m.expansion_exponent = 1.25;
  m.timing[LB_ROD_END].opening_ramp_time = 0.003;
  m.timing[LB_CAP_END].inlet_opens = -0.0;
  ck_assert_str_eq(shown("machine", "cylinders", &m, false), "2");
  ck_assert_str_eq(shown("machine", "crank angles", &m, false), "0 deg, 180 deg");
  ck_assert_str_eq(shown("air", "expansion", &m, false), "1.25");
  ck_assert_str_eq(shown("timing rod end", "opening ramp", &m, false), "3 ms");
  ck_assert_str_eq(shown("timing", "inlet opens", &m, false), "0 deg");
}
END_TEST

/* What is made at the bench has values once its section is given, its defaults too. */
START_TEST(values_of_the_bench_are_shown) {
  struct lb_machine m = machine_text(machine_text_least, NULL);
  ck_assert_str_eq(shown("inlet valve", "on delay", &m, false), "0 ms");
  ck_assert_str_eq(shown("switch disc", "least arc", &m, false), "not given");
  ck_assert_str_eq(shown("cam", "motion law", &m, false), "not given");
  ck_assert_str_eq(shown("encoder", "multiply", &m, false), "not given");
  m.switch_disc.given = m.cam.given = m.encoder.given = true;
  m.switch_disc.bolt_count = 3;
  m.switch_disc.compensated_speed = 4 * LB_PI; /* two turns a second */
  m.encoder.quadrupled = m.encoder.counts_down = true;
  ck_assert_str_eq(shown("switch disc", "least arc", &m, false), "2 mm");
  ck_assert_str_eq(shown("switch disc", "track width", &m, true), "0.23622 in");
  ck_assert_str_eq(shown("switch disc", "bolt count", &m, false), "3");
  ck_assert_str_eq(shown("switch disc", "compensated speed", &m, false), "120 rpm");
  ck_assert_str_eq(shown("cam", "motion law", &m, false), "3-4-5 polynomial");
  ck_assert_str_eq(shown("cam", "pressure angle limit", &m, false), "30 deg");
  ck_assert_str_eq(shown("encoder", "multiply", &m, false), "4");
  ck_assert_str_eq(shown("encoder", "direction", &m, false), "against rotation");
}
END_TEST

START_TEST(values_go_in_and_out) {
  struct lb_machine m = machine_text(machine_text_least, NULL);
  for (size_t i = 0; i < lb_keys_count(); i++) {
    const struct lb_key *key = lb_keys_get(i);
    bool single = key->kind != LB_KEY_TEXT && key->kind != LB_KEY_ANGLES &&
                  key->kind != LB_KEY_RAMP && key->kind != LB_KEY_RATING;
    bool kept = strcmp(key->name, "altitude") != 0 && key->when != LB_WHEN_CONNECTING_ROD &&
                key->when != LB_WHEN_VEHICLE;
    if (!single)
      continue;
    struct lb_machine changed = m;
    double value = key->kind == LB_KEY_CHOICE ? 1 : key->kind == LB_KEY_COUNT ? 3 : 150000.25;
    lb_keys_put(key, LB_ENDS, &changed, value);
    for (int end = 0; kept && end <= LB_ENDS; end++)
      ck_close_relative(lb_keys_value(key, (enum lb_end)end, &changed), value, EXACT);
    ck_assert_msg(memcmp(&changed, &m, sizeof m) != 0 || key->kind == LB_KEY_CHOICE, "%s",
                  key->name);
  }
  lb_keys_put(lb_keys_find(NULL, "timing", "cut-off"), LB_ROD_END, &m, 1.25);
  ck_assert(!m.timing[LB_CAP_END].cutoff_given && m.timing[LB_ROD_END].cutoff == 1.25);
}
END_TEST

int main(void) {
  Suite *suite = suite_create("keys");
  TCase *table = tcase_create("table"), *words = tcase_create("words");
  tcase_add_test(table, rows_are_whole);
  tcase_add_test(table, timing_has_three_sections);
  tcase_add_test(table, limits_are_what_they_say);
  tcase_add_test(table, units_are_known);
  tcase_add_test(table, values_are_shown);
  tcase_add_test(table, values_of_the_bench_are_shown);
  tcase_add_test(table, values_go_in_and_out);
  tcase_add_test(words, starter_reads);
  tcase_add_test(words, starter_lines_read);
  tcase_add_test(words, starter_workshop_reads);
  tcase_add_test(words, help_on_every_key);
  tcase_add_test(words, help_on_the_workshop);
  tcase_add_test(words, help_on_a_name_in_two_sections);
  tcase_add_test(words, help_on_unknown_keys);
  tcase_add_test(words, advice_names_what_exists);
  tcase_add_test(words, examples_for_messages_read);
  tcase_add_test(words, advice_points_at_one_key);
  tcase_add_test(words, words_are_explained);
  tcase_add_test(words, advice_is_cut_to_size);
  suite_add_tcase(suite, table);
  suite_add_tcase(suite, words);
  return support_run(suite, NULL);
}
