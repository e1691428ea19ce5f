/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The glossary: one table.
 */
#include "machine/glossary.h"

#include <stdbool.h>
#include <stddef.h>
#include <string.h>
#include <strings.h>

/* A meaning, and the words that lead to it, parted by '|'. */
struct meaning {
  const char *words;
  const char *text;
};

static const struct meaning meanings[] = {
    {"anr|free air|l anr",
     "ANR: free air, the volume that air takes up at 100 kPa absolute and 20 degC. A litre ANR is "
     "the same mass of air whatever pressure it comes from."},
    {"cap end|head end|blind end",
     "Cap end: the end of the cylinder without the piston rod, closed by a cap. Its dead centre is "
     "where the piston is nearest to that cap."},
    {"rod end|crank end|gland end",
     "Rod end: the end of the cylinder where the piston rod comes out, which takes some of the "
     "piston's area there. Its dead centre lies about half a turn after that of the cap end."},
    {"dead centre|dead center|dead centres|top dead centre|bottom dead centre",
     "Dead centre: a crank position at which the piston turns back. Each end has its own, where "
     "its "
     "chamber is smallest, and all angles of that end count from there."},
    {"cut-off|cutoff|cut off",
     "Cut-off: the moment when the inlet shuts. From then on the air in the chamber expands "
     "without "
     "any more coming in; an early cut-off saves air, a late one gives more pull."},
    {"release",
     "Release: the moment when the exhaust opens and lets go whatever pressure the expansion has "
     "left. Pressure that is still there then is work not taken from the air."},
    {"lead",
     "Lead: opening the inlet before dead centre, so that the chamber is full when the stroke "
     "begins. It is written as a negative angle of 'inlet opens'."},
    {"compression",
     "Compression: what happens to the air still in the chamber when the exhaust shuts before dead "
     "centre. It raises the pressure in the dead volume, which then takes less fresh air to fill."},
    {"dead volume|clearance|clearance volume",
     "Dead volume: the space between piston and shut valves that is left at dead centre: "
     "clearance, "
     "port and tube. It is filled on every stroke and swept on none."},
    {"economy|best economy",
     "Best economy: the cut-offs that give the most work after friction from each kilogram of air, "
     "for the whole machine."},
    {"ceiling",
     "Ceiling: the work of a revolution with the inlet open over the whole stroke, the exhaust "
     "open "
     "over the whole way back, and no friction. It is a measure for the pull of a timing, not for "
     "its economy."},
    {"isentropic efficiency",
     "Isentropic efficiency: the work after friction, as a share of what the same air would give "
     "if "
     "it expanded down to back pressure without loss and without heat from the walls."},
    {"isothermal efficiency",
     "Isothermal efficiency: the work after friction, as a share of what the same air would give "
     "if "
     "it expanded down to back pressure without loss and stayed at its temperature of supply."},
    {"mean effective pressure|mep",
     "Mean effective pressure: the steady pressure on the pistons that would do the work of a "
     "revolution. It is that work over the volume the pistons sweep."},
    {"back pressure",
     "Back pressure: what the air has to push against on its way out. It is the pressure of the "
     "surroundings where the exhaust is open."},
    {"dead arc|dead arcs",
     "Dead arc: a range of crank positions from which the machine does not start by itself, "
     "because "
     "its torque at standstill there does not exceed the load. One is passed by hand or by a "
     "flywheel."},
    {"standstill|starting torque|torque at standstill",
     "Torque at standstill: that of a crank that does not turn, with supply pressure in every "
     "chamber whose inlet is open, back pressure in the others, and the friction of a piston that "
     "has to break away."},
    {"worth|exergy",
     "Worth: the most work that the air drawn could do on its way to the pressure and temperature "
     "of "
     "the surroundings (its exergy). What does not reach the crank is listed by where it is lost."},
};

/* Whether a word is one of those parted by '|'. */
static bool among(const char *words, const char *word) {
  size_t length = strlen(word);
  for (const char *at = words; *at;) {
    size_t next = strcspn(at, "|");
    if (next == length && strncasecmp(at, word, length) == 0)
      return true;
    at += next + (at[next] == '|');
  }
  return false;
}

const char *lb_glossary_find(const char *word) {
  for (size_t i = 0; i < sizeof meanings / sizeof meanings[0]; i++)
    if (among(meanings[i].words, word))
      return meanings[i].text;
  return NULL;
}
