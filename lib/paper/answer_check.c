/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What was understood. One list of rows serves text, JSON and CSV: the rows of the table of keys
 * that say something about this machine, those of timing once for each section that gives them.
 */
#include "paper/answer_check.h"

#include "base/number.h"
#include "paper/record.h"
#include "paper/show.h"
#include "paper/table.h"
#include "paper/table_write.h"
#include "paper/text.h"
#include "physics/conductance.h"

#include <math.h>
#include <string.h>

enum {
  WIDTH = 79, /* columns of a line */
  ROWS_MOST = (LB_ENDS + 1) * LB_KEYS_MOST,
  SI_DIGITS = 7 /* significant digits of the column in SI */
};

/* A key in the section of an end, or of both (LB_ENDS). */
struct row {
  const struct lb_key *key;
  enum lb_end end;
  const struct lb_entry *entry; /* NULL: a default */
};

struct rows {
  struct row item[ROWS_MOST]; /* item[count] */
  size_t count;
};

/* Whether the text gave any key of a section. */
static bool section_given(const struct lb_check_paper *paper, const char *section) {
  for (size_t i = 0; i < lb_keys_count(); i++)
    if (paper->given->entry[LB_ENDS][i] && strcmp(lb_keys_get(i)->section, section) == 0)
      return true;
  return false;
}

static bool key_given(const struct lb_check_paper *paper, const char *section, const char *name) {
  return paper->given->entry[LB_ENDS][lb_keys_index(lb_keys_find(NULL, section, name))];
}

/* Whether a key that was not given is none to wait for: one of several ways to say the same, of
 * which another was given, or which is not the one that stands for all when none is. */
static bool said_otherwise(const struct lb_check_paper *paper, const struct lb_key *key) {
  for (size_t i = 0; i < lb_keys_count(); i++)
    if (paper->given->entry[LB_ENDS][i] && lb_keys_same(key, lb_keys_get(i)))
      return true;
  return key->another_way;
}

/* Whether the header of a section alone has given it. */
static bool says_given(const struct lb_check_paper *paper, const struct lb_key *key) {
  return key->flag && !key->load && lb_keys_stated(key, LB_ENDS, paper->machine);
}

static bool has_load(const struct lb_machine *machine) {
  return machine->load_torque > 0 || machine->load.mass > 0 || machine->load.torque_per_speed > 0 ||
         machine->load.torque_per_speed_squared > 0;
}

/* Whether a key that was not given says something about this machine. */
static bool matters(const struct lb_key *key, const struct lb_check_paper *paper) {
  const struct lb_machine *machine = paper->machine;
  switch (key->when) {
  case LB_WHEN_ALWAYS:
    break;
  case LB_WHEN_CAP_END:
    return machine->works[LB_CAP_END];
  case LB_WHEN_ROD_END:
    return machine->works[LB_ROD_END];
  case LB_WHEN_CONNECTING_ROD:
    return machine->linkage.kind == LB_CONNECTING_ROD;
  case LB_WHEN_SWINGING:
    return machine->linkage.kind == LB_SWINGING;
  case LB_WHEN_SECTION:
    return (section_given(paper, key->section) || says_given(paper, key)) &&
           !said_otherwise(paper, key) && !key->restates;
  case LB_WHEN_ORIFICE:
    return key_given(paper, key->section, "orifice");
  case LB_WHEN_GIVEN:
    return false;
  case LB_WHEN_TORQUE:
    return !(machine->load.mass > 0);
  case LB_WHEN_VEHICLE:
    return machine->load.mass > 0;
  case LB_WHEN_LOAD:
    return has_load(machine);
  }
  return !key->restates;
}

/* Whether a default of both ends still holds for one of them. */
static bool holds_somewhere(const struct lb_check_paper *paper, const struct lb_key *key) {
  for (int end = 0; end < LB_ENDS; end++)
    if (paper->machine->works[end] &&
        lb_keys_deciding(paper->given, key, (enum lb_end)end) == LB_ENDS)
      return true;
  return false;
}

static void add_row(struct rows *rows, const struct lb_check_paper *paper, size_t index,
                    enum lb_end end) {
  struct row row = {lb_keys_get(index), end, paper->given->entry[end][index]};
  bool shown = row.entry || (end == LB_ENDS && matters(row.key, paper) &&
                             (!row.key->of_end || holds_somewhere(paper, row.key)));
  if (shown)
    rows->item[rows->count++] = row;
}

/* The rows section by section; those of timing for both ends, then for each. */
static void list_rows(struct rows *rows, const struct lb_check_paper *paper) {
  static const enum lb_end parts[] = {LB_ENDS, LB_CAP_END, LB_ROD_END};
  rows->count = 0;
  for (size_t first = 0, next; first < lb_keys_count(); first = next) {
    const char *section = lb_keys_get(first)->section;
    for (next = first; next < lb_keys_count(); next++)
      if (strcmp(lb_keys_get(next)->section, section) != 0)
        break;
    for (size_t part = 0; part < sizeof parts / sizeof parts[0]; part++)
      for (size_t index = first; index < next; index++)
        if (parts[part] == LB_ENDS || lb_keys_get(index)->of_end)
          add_row(rows, paper, index, parts[part]);
  }
}

/* The end whose value a row shows: a key for both ends that only one of them follows shows that. */
static enum lb_end shown_end(const struct row *row, const struct lb_check_paper *paper) {
  if (row->end != LB_ENDS || !row->key->of_end)
    return row->end;
  for (int end = 0; end < LB_ENDS; end++)
    if (paper->machine->works[end] &&
        lb_keys_deciding(paper->given, row->key, (enum lb_end)end) == LB_ENDS)
      return (enum lb_end)end;
  return LB_ENDS;
}

/* Whether a default differs between the ends, as it follows from another key. */
static bool differs(const struct row *row, const struct lb_machine *machine) {
  return row->key->of_end && row->end == LB_ENDS && !row->entry && machine->works[LB_CAP_END] &&
         machine->works[LB_ROD_END] &&
         fabs(lb_keys_value(row->key, LB_CAP_END, machine) -
              lb_keys_value(row->key, LB_ROD_END, machine)) > 0;
}

/* Whether the store's walls are isothermal or adiabatic, which is no number. */
static bool is_heat_word(const struct lb_key *key, const struct lb_check_paper *paper) {
  return key->kind == LB_KEY_HEAT && paper->machine->store.heat != LB_STORE_TIME_CONSTANT;
}

/* The value of a row in SI with its unit; NaN where there is no single number. */
static double si_value(const struct row *row, const struct lb_check_paper *paper,
                       const char **unit) {
  const struct lb_key *key = row->key;
  enum lb_end end = shown_end(row, paper);
  *unit = key->kind == LB_KEY_CHOICE || key->kind == LB_KEY_TEXT ? "" : lb_units_si(key->quantity);
  if (key->kind == LB_KEY_CHOICE || differs(row, paper->machine) || is_heat_word(key, paper))
    return (double)NAN;
  if (key->kind == LB_KEY_RAMP) {
    int first = end != LB_ENDS ? (int)end : paper->machine->works[LB_CAP_END] ? 0 : 1;
    double time = paper->machine->timing[first].opening_ramp_time;
    if (time > 0) {
      *unit = lb_units_si(LB_TIME);
      return time;
    }
  }
  return lb_keys_value(key, end, paper->machine);
}

/* The crank angles, which are a list. */
static void add_angles(struct lb_table *table, const struct lb_machine *machine) {
  struct lb_text list = {0};
  for (int k = 0; k < machine->cylinders; k++)
    lb_text_add(&list, "%s%.*g", k ? ", " : "", SI_DIGITS - 1, machine->crank_angle[k]);
  lb_table_cell(table, "%s %s", list.bytes ? list.bytes : "", lb_units_si(LB_ANGLE));
  lb_text_free(&list);
}

/* The amount of a store's rating; its pressure stands in the sentence below the table. */
static void add_rating(struct lb_table *table, const struct lb_store *store) {
  lb_table_cell(table, "%.*g m3%s", SI_DIGITS, store->rating_amount,
                store->rating_is_free ? " free" : "");
}

static void add_si(struct lb_table *table, const struct row *row,
                   const struct lb_check_paper *paper) {
  const char *unit;
  double value = si_value(row, paper, &unit);
  if (row->key->kind == LB_KEY_ANGLES)
    add_angles(table, paper->machine);
  else if (row->key->kind == LB_KEY_RATING)
    add_rating(table, &paper->machine->store);
  else if (isnan(value))
    lb_table_cell(table, "%s", "");
  else
    lb_table_cell(table, "%.*g%s%s", SI_DIGITS, value == 0 ? 0 : value,
                  strcmp(unit, "1") == 0 ? "" : " ", strcmp(unit, "1") == 0 ? "" : unit);
}

/* The value as the file gives it, else the default, if that is a value. */
static void add_given(struct lb_table *table, const struct row *row,
                      const struct lb_check_paper *paper, bool has_value) {
  char shown[256];
  if (row->entry) {
    lb_table_cell(table, "%s", row->entry->value);
    return;
  }
  if (!has_value) {
    lb_table_cell(table, "-");
    return;
  }
  lb_keys_show(shown, sizeof shown, row->key, shown_end(row, paper), paper->machine, paper->inch);
  lb_table_cell(table, "%s", shown);
}

/* Whether the key that says the same was given instead. */
static bool follows(const struct row *row, const struct lb_check_paper *paper) {
  if (!row->key->alternative)
    return false;
  const struct lb_key *other = lb_keys_find(NULL, row->key->section, row->key->alternative);
  return other && paper->given->entry[LB_ENDS][lb_keys_index(other)];
}

/* Where a value comes from if not from the file; a star where it does not count. What holds in
 * place of a value that is left out goes below the table. */
static void add_note(struct lb_table *table, struct lb_text *below, const struct row *row,
                     const struct lb_check_paper *paper, bool has_value) {
  const struct lb_key *key = row->key;
  const char *origin = row->entry ? row->entry->set ? "command line" : "" : "default";
  const char *star = key->only_at_speed ? *origin ? " *" : "*" : "";
  if (!row->entry && has_value && follows(row, paper)) {
    lb_table_cell(table, "from %s", key->alternative);
    return;
  }
  if (!row->entry && !has_value && strcmp(key->otherwise, "not known") == 0)
    origin = "not known";
  else if (!row->entry && !has_value)
    lb_text_add(below, "%s, by default: %s\n", key->name, key->otherwise);
  lb_table_cell(table, "%s%s", origin, star);
}

static void add_cells(struct lb_table *table, struct lb_text *below, const struct row *row,
                      const struct lb_check_paper *paper) {
  const char *unit;
  enum lb_key_kind kind = row->key->kind;
  bool has_value = kind == LB_KEY_TEXT || kind == LB_KEY_CHOICE || kind == LB_KEY_ANGLES ||
                   kind == LB_KEY_HEAT || kind == LB_KEY_RATING ||
                   !isnan(si_value(row, paper, &unit));
  lb_table_cell(table, "%s", row->key->name);
  add_given(table, row, paper, has_value);
  add_si(table, row, paper);
  add_note(table, below, row, paper, has_value);
}

static void add_table(struct lb_text *out, const struct rows *rows,
                      const struct lb_check_paper *paper) {
  struct lb_table *table = lb_table_new("<<<<");
  struct lb_text below = {0};
  static const char *const heads[] = {"", "as given", "in SI", ""};
  for (size_t i = 0; i < sizeof heads / sizeof heads[0]; i++)
    lb_table_cell(table, "%s", heads[i]);
  const char *section = "";
  for (size_t i = 0; i < rows->count; i++) {
    const struct row *row = &rows->item[i];
    const char *own = lb_keys_section(row->key, row->end);
    if (strcmp(own, section) != 0)
      lb_table_line(table, "[%s]", own);
    section = own;
    add_cells(table, &below, row, paper);
  }
  lb_table_render(out, table, 2, 2);
  lb_table_free(table);
  lb_text_add(out, "* not used in the slow cycle\n%s", below.bytes ? below.bytes : "");
  out->failed = out->failed || below.failed;
  lb_text_free(&below);
}

/* What comes out of a valve's size and the tube before or behind it. */
static void add_path(struct lb_text *out, enum lb_valve valve, const struct lb_path *path) {
  static const char *const name[LB_VALVES] = {"Inlet", "Exhaust"};
  const double litres_per_bar = 1e8; /* [L/(s bar)] in a [m3/(s Pa)] */
  const double place = 1e-3;         /* of b */
  const int digits = 2;              /* of the Reynolds number */
  char number[LB_KEYS_NUMBER];
  struct lb_text line = {0};
  if (!(path->flow.conductance > 0))
    return;
  lb_text_add(&line, "%s, all in series: C = %.4g L/(s bar), b = %.3g", name[valve],
              path->flow.conductance * litres_per_bar,
              round(path->flow.critical_ratio / place) * place);
  if (path->flow.subsonic_index != LB_CONDUCTANCE_INDEX)
    lb_text_add(&line, ", m = %.3g", path->flow.subsonic_index);
  if (path->tube_reynolds > 0)
    lb_text_add(&line, "; the tube choked at a Reynolds number of %s",
                lb_keys_number(number, lb_number_round(path->tube_reynolds, digits)));
  lb_text_wrap(out, WIDTH, "", "  ", line.bytes ? line.bytes : "");
  out->failed = out->failed || line.failed;
  lb_text_free(&line);
}

static void add_paths(struct lb_text *out, const struct lb_check_paper *paper,
                      const struct lb_style *style) {
  const struct lb_machine *machine = paper->machine;
  for (int valve = 0; valve < LB_VALVES; valve++)
    add_path(out, (enum lb_valve)valve, &machine->path[valve]);
  if (machine->tube_volume > 0)
    lb_text_add(out, "The tube adds %.3g %s to the dead volume of each working end.\n",
                lb_show_value(style, LB_SHOW_VOLUME, machine->tube_volume),
                lb_show_unit(style, LB_SHOW_VOLUME));
}

/* How a rating was understood, and the room for air that it gives. */
static void add_store(struct lb_text *out, const struct lb_store *store,
                      const struct lb_style *style) {
  struct lb_text line = {0};
  if (!store->given || store->rating_amount == 0)
    return;
  lb_text_add(&line, "The rating: %s of %s at ",
              lb_show(style, LB_SHOW_ROOM, store->rating_amount).text,
              store->rating_is_free ? "free air" : "room for air");
  lb_text_add(&line, "%s", lb_show_pressure(style, store->rating_pressure).text);
  if (store->rating_is_free)
    lb_text_add(&line, ", which a room of %s holds",
                lb_show(style, LB_SHOW_ROOM, store->volume).text);
  lb_text_add(&line, ".");
  lb_text_wrap(out, WIDTH, "", "  ", line.bytes ? line.bytes : "");
  out->failed = out->failed || line.failed;
  lb_text_free(&line);
}

/* What a vehicle asks of the crank. */
static void add_vehicle(struct lb_text *out, const struct lb_machine *machine,
                        const struct lb_style *style) {
  if (machine->load.mass > 0)
    lb_text_add(out, "The vehicle asks for %s at the crank, without speed and wind.\n",
                lb_show(style, LB_SHOW_TORQUE, machine->load_torque).text);
}

/* A word of a command line, quoted where a shell would take it apart. */
static void add_word(struct lb_text *out, const char *word) {
  static const char plain[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789"
                              "-_./+,:@%";
  if (word[strspn(word, plain)] == '\0') {
    lb_text_add(out, "%s", word);
    return;
  }
  lb_text_add(out, "'");
  for (const char *at = word; *at; at++)
    if (*at == '\'')
      lb_text_add(out, "'\\''");
    else
      lb_text_add(out, "%c", *at);
  lb_text_add(out, "'");
}

enum lb_status lb_answer_check_text(char **text, const struct lb_check_paper *paper,
                                    struct lb_error *error) {
  struct lb_text out = {0};
  struct rows rows;
  const struct lb_style style = {paper->inch, paper->machine->ambient_pressure};
  list_rows(&rows, paper);
  lb_text_add(&out, "%s: what was understood\n\n", paper->machine->name);
  add_table(&out, &rows, paper);
  add_paths(&out, paper, &style);
  add_store(&out, &paper->machine->store, &style);
  add_vehicle(&out, paper->machine, &style);
  lb_text_add(&out, paper->warnings ? "\nWarnings\n" : "\nNo warnings.\n");
  for (size_t i = 0; i < paper->warnings; i++)
    lb_text_wrap(&out, WIDTH, "  - ", "    ",
                 lb_show_sentence(&style, paper->warning[i].text).text);
  lb_text_add(&out, "\nNext: lastbar cutoff ");
  add_word(&out, paper->file);
  if (paper->machine->store.given && paper->machine->load_torque > 0) {
    lb_text_add(&out, ", and how far the store goes: lastbar rundown ");
    add_word(&out, paper->file);
  }
  lb_text_add(&out, "\n");
  return lb_text_take(text, &out, error);
}

static void add_key(struct lb_record *record, const struct row *row,
                    const struct lb_check_paper *paper) {
  const char *unit;
  double value = si_value(row, paper, &unit);
  lb_record_text(record, "section", lb_keys_section(row->key, row->end));
  lb_record_text(record, "key", row->key->name);
  lb_record_text(record, "given", row->entry ? row->entry->value : NULL);
  if (row->entry && row->entry->line > 0)
    lb_record_whole(record, "line", row->entry->line);
  else
    lb_record_null(record, "line");
  lb_record_number(record, "value", value);
  lb_record_text(record, "unit", isnan(value) ? NULL : unit);
}

static void add_path_record(struct lb_record *record, const char *name,
                            const struct lb_path *path) {
  if (!(path->flow.conductance > 0)) {
    lb_record_null(record, name);
    return;
  }
  lb_record_open(record, name);
  lb_record_number(record, "conductance_m3_s_pa", path->flow.conductance);
  lb_record_number(record, "critical_ratio", path->flow.critical_ratio);
  lb_record_number(record, "subsonic_index", path->flow.subsonic_index);
  lb_record_number_if(record, path->tube_reynolds > 0, "tube_reynolds", path->tube_reynolds);
  lb_record_close(record);
}

enum lb_status lb_answer_check_json(char **json, const struct lb_check_paper *paper,
                                    struct lb_error *error) {
  struct lb_record record = {0};
  struct rows rows;
  list_rows(&rows, paper);
  lb_record_text(&record, "lastbar", lb_table_write_version());
  lb_record_text(&record, "command", "check");
  lb_record_text(&record, "machine", paper->machine->name);
  lb_record_open_list(&record, "keys");
  for (size_t i = 0; i < rows.count; i++) {
    lb_record_open(&record, NULL);
    add_key(&record, &rows.item[i], paper);
    lb_record_close(&record);
  }
  lb_record_close(&record);
  lb_record_open(&record, "paths");
  add_path_record(&record, "inlet", &paper->machine->path[LB_INLET_VALVE]);
  add_path_record(&record, "exhaust", &paper->machine->path[LB_EXHAUST_VALVE]);
  lb_record_close(&record);
  lb_record_number(&record, "tube_volume_m3", paper->machine->tube_volume);
  lb_record_warnings(&record, paper->warning, paper->warnings);
  enum lb_status status = lb_table_write_json(json, &record, error);
  lb_record_free(&record);
  return status;
}

enum lb_status lb_answer_check_csv(char **csv, const struct lb_check_paper *paper,
                                   struct lb_error *error) {
  struct lb_record row[ROWS_MOST] = {0};
  struct rows rows;
  list_rows(&rows, paper);
  for (size_t i = 0; i < rows.count; i++) {
    lb_record_text(&row[i], "machine", paper->machine->name);
    add_key(&row[i], &rows.item[i], paper);
  }
  enum lb_status status = lb_table_write_csv(csv, row, rows.count, error);
  for (size_t i = 0; i < rows.count; i++)
    lb_record_free(&row[i]);
  return status;
}
