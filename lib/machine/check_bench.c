/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whether a switch disc and cams can be cut from what is given. From the centre of a disc outwards
 * there are the hole with its keyway, the bolt holes, and the tracks up to the edge:
 *
 *   centre  hub | web | bolt holes | web | tracks  edge
 *
 * Undercut, pressure angle and arcs too short for the switch are judged where the shapes are drawn.
 */
#include "machine/check_rules.h"

#include "base/constants.h"
#include "machine/keys.h"

#include <math.h>

/* Common practice, without a source: the least that is left standing between two cuts, which the
 * messages call 1 mm. */
static const double web = 1e-3; /* [m] */

/* Lengths that should be equal may differ by a few roundings. */
static const double length_slack = 1e-9; /* [m] */

/* To what lengths that would do are rounded [m]. */
static const double tenth = 1e-4, half = 5e-4;

/* A length in millimetres for messages; text[LB_KEYS_NUMBER] is returned. */
static const char *millimetres(char *text, double length) {
  return lb_keys_number(text, length * 1e3);
}

/* A length in whole steps, so that one that would do still does. */
static double rounded_up(double length, double step) {
  return ceil((length - length_slack) / step) * step;
}

static double rounded_down(double length, double step) {
  return floor((length + length_slack) / step) * step;
}

static bool keyed(const struct lb_switch_disc *disc) {
  return disc->keyway_width > 0 && disc->keyway_depth > 0;
}

/* How far from the centre the hole and its keyway reach [m]: the keyway to its corners. */
static double hub_radius(const struct lb_switch_disc *disc) {
  double bore = disc->bore / 2;
  return keyed(disc) ? hypot(bore + disc->keyway_depth, disc->keyway_width / 2) : bore;
}

/* Whether the hole and its keyway lie within the disc. */
static bool hub_fits(const struct lb_switch_disc *disc) {
  bool key_fits = !keyed(disc) || disc->keyway_width < disc->bore;
  return key_fits && hub_radius(disc) < disc->outer_diameter / 2;
}

/* From the middle of the outermost track to that of the innermost [m]. */
static double track_depth(const struct lb_machine *machine) {
  int tracks = LB_VALVES * (machine->works[LB_CAP_END] + machine->works[LB_ROD_END]);
  return (tracks - 1) * machine->switch_disc.track_spacing;
}

/* Where the tracks begin and end, from the centre [m]. */
static double tracks_begin(const struct lb_machine *machine) {
  const struct lb_switch_disc *disc = &machine->switch_disc;
  return disc->track_radius - track_depth(machine) - disc->track_width / 2;
}

static double tracks_end(const struct lb_machine *machine) {
  return machine->switch_disc.track_radius + machine->switch_disc.track_width / 2;
}

static bool tracks_are_apart(const struct lb_switch_disc *disc) {
  return disc->track_spacing >= disc->track_width - length_slack;
}

static bool tracks_fit(const struct lb_machine *machine) {
  const struct lb_switch_disc *disc = &machine->switch_disc;
  return tracks_end(machine) <= disc->outer_diameter / 2 + length_slack &&
         tracks_begin(machine) >= hub_radius(disc) + web - length_slack;
}

static enum lb_status test_disc_bore(const struct lb_machine *machine, enum lb_end end,
                                     struct lb_error *error) {
  char a[LB_KEYS_NUMBER], b[LB_KEYS_NUMBER];
  const struct lb_switch_disc *disc = &machine->switch_disc;
  (void)end;
  if (!disc->given || disc->bore < disc->outer_diameter)
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT,
                      "a hole of %s mm leaves nothing of a disc of %s mm; give the diameters of "
                      "both",
                      millimetres(a, disc->bore), millimetres(b, disc->outer_diameter));
}

/* A keyway has a width and a depth. */
static enum lb_status test_keyway(const struct lb_machine *machine, enum lb_end end,
                                  struct lb_error *error) {
  char a[LB_KEYS_NUMBER];
  const struct lb_switch_disc *disc = &machine->switch_disc;
  bool wide = disc->keyway_width > 0, deep = disc->keyway_depth > 0;
  (void)end;
  if (!disc->given || wide == deep)
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT,
                      "a keyway %s mm %s has no %s; give '%s' as well, or leave the keyway out",
                      millimetres(a, wide ? disc->keyway_width : disc->keyway_depth),
                      wide ? "wide" : "deep", wide ? "depth" : "width",
                      wide ? "keyway depth" : "keyway width");
}

static enum lb_status test_keyway_size(const struct lb_machine *machine, enum lb_end end,
                                       struct lb_error *error) {
  char a[LB_KEYS_NUMBER], b[LB_KEYS_NUMBER], c[LB_KEYS_NUMBER];
  const struct lb_switch_disc *disc = &machine->switch_disc;
  (void)end;
  if (!disc->given || disc->bore >= disc->outer_diameter || hub_fits(disc))
    return LB_OK;
  if (disc->keyway_width >= disc->bore)
    return lb_error_set(error, LB_BAD_INPUT,
                        "a keyway %s mm wide takes all of a hole of %s mm; give the width of the "
                        "key, less than %s mm",
                        millimetres(a, disc->keyway_width), millimetres(b, disc->bore), b);
  return lb_error_set(error, LB_BAD_INPUT,
                      "a keyway %s mm deep reaches %s mm from the centre, beyond the edge of the "
                      "disc at %s mm; give the depth from the edge of the hole",
                      millimetres(a, disc->keyway_depth),
                      millimetres(b, rounded_up(hub_radius(disc), tenth)),
                      millimetres(c, disc->outer_diameter / 2));
}

/* Bolts have a number, a circle and a hole. */
static enum lb_status test_bolts(const struct lb_machine *machine, enum lb_end end,
                                 struct lb_error *error) {
  const struct lb_switch_disc *disc = &machine->switch_disc;
  bool count = disc->bolt_count > 0, circle = disc->bolt_circle > 0, hole = disc->bolt_hole > 0;
  (void)end;
  if (!disc->given || (count == circle && circle == hole))
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT,
                      "bolts need 'bolt circle', 'bolt count' and 'bolt hole', and there is no "
                      "'%s'; give it as well, or leave all three out",
                      !circle  ? "bolt circle"
                      : !count ? "bolt count"
                               : "bolt hole");
}

/* Neighbouring tracks do not overlap. */
static enum lb_status test_track_spacing(const struct lb_machine *machine, enum lb_end end,
                                         struct lb_error *error) {
  char a[LB_KEYS_NUMBER], b[LB_KEYS_NUMBER];
  const struct lb_switch_disc *disc = &machine->switch_disc;
  (void)end;
  if (!disc->given || tracks_are_apart(disc))
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT,
                      "tracks %s mm apart overlap, as they are %s mm wide; let 'track spacing' be "
                      "%s mm or more",
                      millimetres(a, disc->track_spacing), millimetres(b, disc->track_width), b);
}

/* Say where the tracks would fit: on this disc, or on a larger one. Half a track's width is left
 * between the outermost and the edge.
 * found  what was found, the first half of the message */
static enum lb_status refuse_tracks(const struct lb_machine *machine, const char *found,
                                    struct lb_error *error) {
  char a[LB_KEYS_NUMBER], b[LB_KEYS_NUMBER];
  const struct lb_switch_disc *disc = &machine->switch_disc;
  double width = disc->track_width, radius = disc->outer_diameter / 2;
  double least = hub_radius(disc) + web + width / 2 + track_depth(machine) + width;
  if (radius >= least - length_slack)
    return lb_error_set(error, LB_BAD_INPUT, "%s; a track radius of %s mm would do", found,
                        millimetres(a, radius - width));
  radius = rounded_up(least, half);
  return lb_error_set(error, LB_BAD_INPUT,
                      "%s; an outer diameter of %s mm with a track radius of %s mm would do", found,
                      millimetres(a, 2 * radius), millimetres(b, radius - width));
}

/* The tracks lie between the hub and the edge. */
static enum lb_status test_tracks(const struct lb_machine *machine, enum lb_end end,
                                  struct lb_error *error) {
  char begin[LB_KEYS_NUMBER], last[LB_KEYS_NUMBER], hub[LB_KEYS_NUMBER], edge[LB_KEYS_NUMBER];
  const struct lb_switch_disc *disc = &machine->switch_disc;
  struct lb_error found;
  (void)end;
  if (!disc->given || !hub_fits(disc) || !tracks_are_apart(disc) || tracks_fit(machine))
    return LB_OK;
  lb_error_set(&found, LB_BAD_INPUT,
               "the tracks take %s to %s mm from the centre, and the disc has room for them from "
               "%s to %s mm",
               millimetres(begin, tracks_begin(machine)), millimetres(last, tracks_end(machine)),
               millimetres(hub, rounded_up(hub_radius(disc) + web, tenth)),
               millimetres(edge, disc->outer_diameter / 2));
  return refuse_tracks(machine, found.text, error);
}

/* The smallest circle on which the bolt holes leave a web to the hub, to each other [m], and both;
 * and the largest on which they leave one to the tracks. */
static double circle_about_hub(const struct lb_switch_disc *disc) {
  return 2 * (hub_radius(disc) + web) + disc->bolt_hole;
}

static double circle_for_all(const struct lb_switch_disc *disc) {
  double apart = disc->bolt_hole + web;
  return disc->bolt_count > 1 ? apart / sin(LB_PI / disc->bolt_count) : 0;
}

static double least_circle(const struct lb_switch_disc *disc) {
  return rounded_up(fmax(circle_about_hub(disc), circle_for_all(disc)), tenth);
}

static double greatest_circle(const struct lb_machine *machine) {
  return rounded_down(2 * (tracks_begin(machine) - web) - machine->switch_disc.bolt_hole, tenth);
}

/* Say on which circle the bolt holes would fit: on this disc, or on one that is larger by as much
 * as the tracks have to move outwards.
 * near  what they come too near to */
static enum lb_status refuse_circle(const struct lb_machine *machine, const char *near,
                                    struct lb_error *error) {
  char a[LB_KEYS_NUMBER], b[LB_KEYS_NUMBER], c[LB_KEYS_NUMBER], d[LB_KEYS_NUMBER];
  const struct lb_switch_disc *disc = &machine->switch_disc;
  double least = least_circle(disc), most = greatest_circle(machine);
  millimetres(a, disc->bolt_circle);
  millimetres(b, least);
  if (least <= most + length_slack)
    return lb_error_set(error, LB_BAD_INPUT,
                        "on a circle of %s mm the bolt holes come within 1 mm of %s; a circle of "
                        "%s to %s mm would do",
                        a, near, b, millimetres(c, most));
  double grown = rounded_up((least - most) / 2, half);
  return lb_error_set(error, LB_BAD_INPUT,
                      "on a circle of %s mm the bolt holes come within 1 mm of %s; a circle of %s "
                      "mm with an outer diameter of %s mm and a track radius of %s mm would do",
                      a, near, b, millimetres(c, disc->outer_diameter + 2 * grown),
                      millimetres(d, disc->track_radius + grown));
}

/* The bolt holes lie between the hub and the tracks, and apart from each other. */
static enum lb_status test_bolt_circle(const struct lb_machine *machine, enum lb_end end,
                                       struct lb_error *error) {
  const struct lb_switch_disc *disc = &machine->switch_disc;
  double circle = disc->bolt_circle;
  bool bolted = disc->bolt_count > 0 && circle > 0 && disc->bolt_hole > 0;
  (void)end;
  if (!disc->given || !bolted || !hub_fits(disc) || !tracks_are_apart(disc) || !tracks_fit(machine))
    return LB_OK;
  if (circle < circle_about_hub(disc) - length_slack)
    return refuse_circle(machine, "the hole for the shaft or its keyway", error);
  if (circle < circle_for_all(disc) - length_slack)
    return refuse_circle(machine, "each other", error);
  double inmost = 2 * (tracks_begin(machine) - web) - disc->bolt_hole;
  return circle <= inmost + length_slack ? LB_OK : refuse_circle(machine, "the tracks", error);
}

static enum lb_status test_cam_bore(const struct lb_machine *machine, enum lb_end end,
                                    struct lb_error *error) {
  char a[LB_KEYS_NUMBER], b[LB_KEYS_NUMBER], c[LB_KEYS_NUMBER];
  const struct lb_cam *cam = &machine->cam;
  double least = cam->bore / 2 + web;
  (void)end;
  if (!cam->given || cam->bore == 0 || cam->base_radius >= least - length_slack)
    return LB_OK;
  return lb_error_set(error, LB_BAD_INPUT,
                      "a hole of %s mm leaves less than 1 mm of a cam of %s mm base radius; a base "
                      "radius of %s mm or more would do",
                      millimetres(a, cam->bore), millimetres(b, cam->base_radius),
                      millimetres(c, rounded_up(least, tenth)));
}

/* The hub first: others rest on it. */
static const struct lb_rule rules[] = {
    {test_disc_bore, .rests = {{"switch disc", "bore"}, {"switch disc", "outer diameter"}}},
    {test_keyway, .rests = {{"switch disc", "keyway width"}, {"switch disc", "keyway depth"}}},
    {test_keyway_size, .rests = {{"switch disc", "keyway width"},
                                 {"switch disc", "keyway depth"},
                                 {"switch disc", "bore"},
                                 {"switch disc", "outer diameter"}}},
    {test_bolts, .rests = {{"switch disc", "bolt circle"},
                           {"switch disc", "bolt count"},
                           {"switch disc", "bolt hole"}}},
    {test_track_spacing,
     .rests = {{"switch disc", "track spacing"}, {"switch disc", "track width"}}},
    {test_tracks, .rests = {{"switch disc", "track radius"},
                            {"switch disc", "outer diameter"},
                            {"switch disc", "track width"},
                            {"switch disc", "track spacing"},
                            {"switch disc", "bore"},
                            {"switch disc", "keyway width"},
                            {"switch disc", "keyway depth"},
                            {"cylinder", "acting"}}},
    {test_bolt_circle, .rests = {{"switch disc", "bolt circle"},
                                 {"switch disc", "bolt count"},
                                 {"switch disc", "bolt hole"},
                                 {"switch disc", "outer diameter"},
                                 {"switch disc", "bore"},
                                 {"switch disc", "keyway width"},
                                 {"switch disc", "keyway depth"},
                                 {"switch disc", "track radius"},
                                 {"switch disc", "track width"},
                                 {"switch disc", "track spacing"},
                                 {"cylinder", "acting"}}},
    {test_cam_bore, .rests = {{"cam", "base radius"}, {"cam", "bore"}}},
};

const struct lb_rules lb_rules_of_bench = {rules, sizeof rules / sizeof rules[0]};
