/* SPDX-License-Identifier: GPL-3.0-or-later */
/* summary.c - the first page: the bottom line for every room, and what was asked. */
#include "document.h"
#include "words.h"

#include <math.h>

static const char *name_of(ebb_report_source *source, const ebb_answer *answer)
{
    ebb_report_doc *doc = source->doc;
    return ebb_report_got(doc, ebb_report_room_name(doc->arena, answer));
}

/* "Chart room: can be made right for music (sure: ...)", in the colour of the verdict. */
static void bottom_line(ebb_report_source *source)
{
    ebb_report_doc *doc = source->doc;
    ebb_report_say(doc, EBB_REPORT_SUBHEADING, "The bottom line");
    if (source->answers->n == 0) {
        ebb_report_say(doc, EBB_REPORT_TEXT, "The job has no rooms, so there is nothing to judge.");
    }
    for (size_t i = 0; i < source->answers->n; i++) {
        const ebb_answer *answer = source->answers->answer[i];
        const char *sure = ebb_report_got(doc, ebb_report_sure(doc->arena, answer));
        ebb_report_block *banner =
            ebb_report_say(doc, EBB_REPORT_BANNER, "%s: %s (%s)", name_of(source, answer),
                           ebb_report_verdict(answer), sure);
        if (banner) {
            banner->ink = ebb_report_verdict_ink(answer);
        }
    }
}

/* "5.40 x 4.10 x 2.70 m, 60 m3" in the units of the report. */
static const char *size_text(ebb_report_source *source, const ebb_room *room)
{
    ebb_report_doc *doc = source->doc;
    char side[3][48];
    for (int i = 0; i < 3; i++) {
        ebb_quantity_print(EBB_Q_LENGTH, room->size[i], source->units, side[i], sizeof side[i]);
    }
    const double volume = ebb_room_volume(room);
    const bool feet = source->units == EBB_UNITS_IMPERIAL;
    return ebb_arena_format(doc->arena, "%s \u00d7 %s \u00d7 %s, %.0f %s", side[0], side[1],
                            side[2], feet ? volume / pow(0.3048, 3.0) : volume,
                            feet ? "ft\u00b3" : "m\u00b3");
}

/* One row for each room, to compare them; the words above say what the numbers mean. */
static void rooms_table(ebb_report_source *source)
{
    static const ebb_report_column COLUMNS[] = {{"Room", 1.5, false},
                                                {"Size", 2.2, false},
                                                {"Verdict", 1.0, false},
                                                {"How sure", 1.0, false},
                                                {"Faults before \u2192 after", 1.1, true},
                                                {"Mended", 1.0, true},
                                                {"Right from", 0.9, true},
                                                {"Mass", 0.9, true},
                                                {"Cost", 0.8, true}};
    ebb_report_doc *doc = source->doc;
    if (source->answers->n == 0) {
        return;
    }
    ebb_report_table *table = ebb_report_table_start(doc, "The rooms and their verdicts",
                                                     sizeof COLUMNS / sizeof COLUMNS[0], COLUMNS);
    for (size_t i = 0; i < source->answers->n; i++) {
        const ebb_answer *answer = source->answers->answer[i];
        const ebb_treatment *t = ebb_report_shown(answer);
        const char *cell[] = {name_of(source, answer),
                              size_text(source, answer->room),
                              ebb_verdict_name(answer->verdict),
                              t->odds.draws
                                  ? ebb_arena_format(doc->arena, "%.0f %%%s", 100.0 * answer->sure,
                                                     answer->near_border ? ", near the border" : "")
                                  : "no draws",
                              ebb_report_fault_counts(doc->arena, t),
                              ebb_report_mended(doc->arena, t),
                              ebb_report_from(doc->arena, &t->after),
                              ebb_report_mass(doc->arena, t->after.layout.mass, source->units),
                              ebb_report_money(doc->arena, t->after.layout.cost)};
        ebb_report_row(doc, table, cell);
    }
    ebb_report_say(doc, EBB_REPORT_QUIET,
                   "Mended: the share of what is wrong that the plan puts right. Right from: the "
                   "lowest frequency from which everything above is inside the limits. Mass and "
                   "cost: all units of the plan, those already there included; cost in the job's "
                   "own money.");
}

/* One term of the allowance; nothing when the job sets no limit. */
static void allowed(ebb_report_source *source, double value, const char *text, const char *what)
{
    ebb_report_doc *doc = source->doc;
    if (isfinite(value)) {
        ebb_report_item(doc,
                        ebb_arena_format(doc->arena, "%s: %s", what, ebb_report_got(doc, text)));
    }
}

/* A verdict holds for an allowance: with another one it may turn. Only bounds that were set are
 * listed. */
static void asked(ebb_report_source *source)
{
    ebb_report_doc *doc = source->doc;
    const ebb_job *job = source->answers->job;
    const ebb_allowance *a = &job->allowance;
    const ebb_units units = source->units;
    ebb_report_say(doc, EBB_REPORT_SUBHEADING, "What was asked");
    ebb_report_item(doc, ebb_arena_format(doc->arena, "Use: %s, from %.0f Hz up.",
                                          ebb_report_use(job->use), job->lowest));
    allowed(source, a->mass, ebb_report_mass(doc->arena, a->mass, units), "Most mass in all");
    allowed(source, a->cover, ebb_report_percent(doc->arena, a->cover),
            "Most cover of walls and ceiling");
    allowed(source, a->depth, ebb_report_measure(doc->arena, a->depth, units),
            "Most depth of a unit");
    allowed(source, a->cost, ebb_report_money(doc->arena, a->cost), "Most money");
    allowed(source, a->count, ebb_arena_format(doc->arena, "%.0f", a->count), "Most units");
    allowed(source, a->floor, ebb_report_quantity(doc->arena, EBB_Q_PRESSURE, a->floor, units),
            "Most load spread over the floor");
}

/* All that a client must know stands on this page; the rest is evidence. */
void ebb_report_summary(ebb_report_source *source)
{
    ebb_report_doc *doc = source->doc;
    const char *note = ebb_report_clean(doc->arena, source->answers->job->note, "");
    ebb_report_say(doc, EBB_REPORT_TITLE, "%s", doc->title);
    ebb_report_say(doc, EBB_REPORT_QUIET,
                   "What can be made of its rooms. %s. Calculated, not "
                   "measured.",
                   doc->trace);
    if (note && *note) {
        ebb_report_say(doc, EBB_REPORT_TEXT, "%s", note);
    }
    bottom_line(source);
    rooms_table(source);
    asked(source);
    ebb_report_say(doc, EBB_REPORT_SUBHEADING, "How to read this");
    ebb_report_say(
        doc, EBB_REPORT_TEXT,
        "A room is small when single standing waves (modes) can be heard: some notes boom and ring "
        "on, others are hardly there. Each room is first calculated as it is, with the best places "
        "for seats and speakers; then with the best plan of absorbers found within the allowance. "
        "The verdict says what the room can be made right for: no, voice or music. Because walls, "
        "sizes, temperature and positions are never known exactly, the finished plan is calculated "
        "again for many draws of them; how many agree says how sure the verdict is. Below 80 %% it "
        "is near the border: a small surprise on site can turn it.");
}
