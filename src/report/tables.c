/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tables.c - faults before and after, what stays wrong, where everything goes. */
#include "document.h"
#include "words.h"

#include <math.h>

enum { MOST_FAULTS = 30 };

/* "45-56 Hz", or one number for a point. */
static const char *stretch(ebb_report_doc *doc, const ebb_fault *fault)
{
    const double low = round(fault->low), high = round(fault->high);
    return high > low ? ebb_arena_format(doc->arena, "%.0f\u2013%.0f Hz", low, high)
                      : ebb_arena_format(doc->arena, "%.0f Hz", fault->hz);
}

/* What an equaliser can do is said with care: it lowers a peak, but what rings goes on ringing. */
static const char *cause(ebb_report_doc *doc, const ebb_fault *fault)
{
    const char *text = ebb_report_got(doc, ebb_report_clean(doc->arena, fault->cause, "not known"));
    return ebb_arena_format(doc->arena, "%s%s%s", text, fault->also_rings ? "; it rings too" : "",
                            fault->equalisable ? "; an equaliser could lower it, its ringing stays"
                                               : "");
}

/* The same fault before and after in one row: a list of each would leave the reader to match them.
 */
static void fault_row(ebb_report_doc *doc, ebb_report_table *table, const ebb_fault *before,
                      const ebb_fault *after)
{
    const ebb_fault *one = before ? before : after;
    const char *cell[6] = {
        ebb_fault_name(one->kind),
        stretch(doc, one),
        ebb_report_clean(doc->arena, one->place, "\u2013"),
        before ? ebb_report_reading(doc->arena, before->kind, before->value) : "\u2013",
        after ? ebb_report_reading(doc->arena, after->kind, after->value) : "gone",
        cause(doc, one)};
    ebb_report_row(doc, table, cell);
}

/* A line that says what each kind in the table means. */
static void kinds(ebb_report_doc *doc, const ebb_faults *before, const ebb_faults *after)
{
    for (int kind = EBB_FAULT_RING; kind <= EBB_FAULT_SPEECH; kind++) {
        bool used = false;
        for (size_t i = 0; i < before->n; i++) {
            used = used || (int)before->fault[i].kind == kind;
        }
        for (size_t i = 0; i < after->n; i++) {
            used = used || (int)after->fault[i].kind == kind;
        }
        if (used) {
            ebb_report_item(doc, ebb_arena_format(doc->arena, "%s: %s",
                                                  ebb_fault_name((ebb_fault_kind)kind),
                                                  ebb_fault_meaning((ebb_fault_kind)kind)));
        }
    }
}

/* Faults that only the plan brings come last, with a dash under "before"; leaving them out would
 * be telling half. */
static void fault_table(ebb_report_doc *doc, const ebb_faults *before, const ebb_faults *after)
{
    static const ebb_report_column COLUMNS[] = {{"Fault", 0.8, false},    {"Where", 1.2, false},
                                                {"Heard at", 1.5, false}, {"Before", 0.9, true},
                                                {"After", 0.9, true},     {"Cause", 3.0, false}};
    ebb_report_table *table = ebb_report_table_start(doc, "Faults before and after", 6, COLUMNS);
    size_t left_out = 0;
    for (size_t i = 0; i < before->n; i++) {
        if (i < MOST_FAULTS) {
            fault_row(doc, table, &before->fault[i], ebb_report_rest(&before->fault[i], after));
        } else {
            left_out++;
        }
    }
    for (size_t i = 0; i < after->n; i++) {
        if (ebb_report_is_new(&after->fault[i], before)) {
            fault_row(doc, table, NULL, &after->fault[i]);
        }
    }
    if (left_out > 0) {
        ebb_report_say(doc, EBB_REPORT_QUIET, "%zu smaller faults of the bare room are left out.",
                       left_out);
    }
}

/* Counts stand in the heading, but a count is no measure: treatment may split one broad fault into
 * two small ones. So the readings are in the table. */
void ebb_report_faults(ebb_report_source *source, const ebb_answer *answer)
{
    ebb_report_doc *doc = source->doc;
    const ebb_treatment *t = ebb_report_shown(answer);
    const ebb_faults *before = &t->before.faults, *after = &t->after.faults;
    const char *name = ebb_report_got(doc, ebb_report_room_name(doc->arena, answer));
    ebb_report_say(doc, EBB_REPORT_PAGE, "%s", "");
    ebb_report_say(doc, EBB_REPORT_SUBHEADING, "%s: %zu faults before, %zu after", name, before->n,
                   after->n);
    if (before->n + after->n > 0) {
        fault_table(doc, before, after);
        kinds(doc, before, after);
    } else {
        ebb_report_say(doc, EBB_REPORT_TEXT, "No fault is listed.");
    }
}

void ebb_report_stays(ebb_report_source *source, const ebb_answer *answer)
{
    ebb_report_doc *doc = source->doc;
    ebb_report_say(doc, EBB_REPORT_SUBHEADING, "What stays wrong after the plan");
    for (size_t i = 0; i < answer->n_stays; i++) {
        ebb_report_item(doc, ebb_report_clean(doc->arena, answer->stays[i], "-"));
    }
    if (answer->n_stays == 0) {
        ebb_report_say(doc, EBB_REPORT_TEXT, "Nothing was recorded.");
    }
}

/* Depth and mass again at each unit: the one who hangs it reads this row only. */
static void unit_row(ebb_report_source *source, ebb_report_table *table, const ebb_answer *answer,
                     size_t p)
{
    ebb_report_doc *doc = source->doc;
    const ebb_job *job = source->answers->job;
    const ebb_placed *placed = &ebb_report_shown(answer)->after.layout.placed[p];
    static const ebb_unit UNKNOWN = {.face = {NAN, NAN}, .depth = NAN, .mass = NAN};
    const ebb_unit *unit = placed->unit < job->n_units ? &job->absorbers[placed->unit] : &UNKNOWN;
    const char *name =
        ebb_report_got(doc, ebb_report_clean(doc->arena, unit->name, "(unnamed unit)"));
    double size[2];
    ebb_placed_size(unit, placed, size);
    const ebb_report_spot spot =
        ebb_report_spot_of(doc->arena, answer->room, placed, source->units);
    const char *wide = ebb_report_got(doc, ebb_report_measure(doc->arena, size[0], source->units));
    const char *high = ebb_report_got(doc, ebb_report_measure(doc->arena, size[1], source->units));
    const char *cell[8] = {ebb_arena_format(doc->arena, "%zu", p + 1),
                           ebb_arena_format(doc->arena, "%s%s%s", name,
                                            placed->turned ? ", turned" : "",
                                            p < answer->room->n_placed ? ", already there" : ""),
                           spot.surface,
                           spot.along,
                           spot.up,
                           ebb_arena_format(doc->arena, "%s \u00d7 %s", wide, high),
                           ebb_report_measure(doc->arena, unit->depth, source->units),
                           ebb_report_mass(doc->arena, unit->mass, source->units)};
    ebb_report_row(doc, table, cell);
}

void ebb_report_unit_places(ebb_report_source *source, const ebb_answer *answer)
{
    static const ebb_report_column COLUMNS[] = {
        {"No.", 0.5, true},    {"Unit", 1.65, false}, {"On", 0.7, false},
        {"Along", 1.9, false}, {"Up", 1.45, false},   {"Face, along \u00d7 up", 1.65, true},
        {"Depth", 0.8, true},  {"Mass", 0.65, true}};
    ebb_report_doc *doc = source->doc;
    const ebb_layout *layout = &ebb_report_shown(answer)->after.layout;
    ebb_report_say(doc, EBB_REPORT_SUBHEADING, "Where the units go");
    if (layout->n_placed == 0) {
        ebb_report_say(doc, EBB_REPORT_TEXT, "The plan places no units.");
        return;
    }
    ebb_report_table *table = ebb_report_table_start(doc, "Units and their places", 8, COLUMNS);
    for (size_t p = 0; p < layout->n_placed; p++) {
        unit_row(source, table, answer, p);
    }
    ebb_report_say(
        doc, EBB_REPORT_QUIET,
        "Numbers are those of the drawing. Along: from the corner named to the nearer "
        "edge of the unit, on the wall; facing a wall from inside, its first corner is on "
        "the right. Up: from the floor to the lower edge. On the ceiling both distances "
        "are measured from corner %zu as seen on the plan. Measure on site before "
        "drilling: a room is never quite square.",
        ebb_report_lower_corner(answer->room));
}

/* How far it moved from the wish of the job tells whether the plan rests on moving it. */
static void station_row(ebb_report_source *source, ebb_report_table *table, const ebb_room *room,
                        const ebb_station *wished, const ebb_vec3 *now)
{
    ebb_report_doc *doc = source->doc;
    const ebb_vec3 at = now ? *now : wished->at;
    const double moved = hypot(at.x - wished->at.x, at.y - wished->at.y);
    const bool seat = wished >= room->seats && wished < room->seats + room->n_seats;
    const char *cell[6] = {ebb_report_clean(doc->arena, wished->name, "(unnamed)"),
                           seat ? "seat" : "speaker",
                           ebb_report_measure(doc->arena, at.x - room->origin.x, source->units),
                           ebb_report_measure(doc->arena, at.y - room->origin.y, source->units),
                           ebb_report_measure(doc->arena, at.z - room->origin.z, source->units),
                           moved < 0.0005 ? "no"
                                          : ebb_report_measure(doc->arena, moved, source->units)};
    ebb_report_row(doc, table, cell);
}

void ebb_report_stations(ebb_report_source *source, const ebb_answer *answer)
{
    static const ebb_report_column COLUMNS[] = {
        {"Name", 2.0, false},       {"What", 0.8, false},  {"To the right", 1.1, true},
        {"Up the plan", 1.1, true}, {"Height", 0.9, true}, {"Moved", 1.0, true}};
    ebb_report_doc *doc = source->doc;
    const ebb_room *room = answer->room;
    const ebb_layout *layout = &ebb_report_shown(answer)->after.layout;
    if (room->n_seats + room->n_speakers == 0) {
        return;
    }
    ebb_report_say(doc, EBB_REPORT_SUBHEADING, "Where seats and speakers go");
    ebb_report_table *table = ebb_report_table_start(doc, "Seats and speakers", 6, COLUMNS);
    for (size_t i = 0; i < room->n_seats; i++) {
        station_row(source, table, room, &room->seats[i], layout->seats ? &layout->seats[i] : NULL);
    }
    for (size_t i = 0; i < room->n_speakers; i++) {
        station_row(source, table, room, &room->speakers[i],
                    layout->speakers ? &layout->speakers[i] : NULL);
    }
    ebb_report_say(
        doc, EBB_REPORT_QUIET,
        "Measured from corner %zu, the lower left corner of the plan. Moved: how far from "
        "the place in the job file.",
        ebb_report_lower_corner(room));
}
