/* SPDX-License-Identifier: GPL-3.0-or-later */
/* method.c - how it was judged, against which numbers, and what was assumed. */
#include "document.h"
#include "words.h"

#include <math.h>

/* For the terminal; the report has them at length. */
const char *ebb_report_assumptions_short(void)
{
    return "Rectangular rooms with flat, locally reacting surfaces; walls as the job or the "
           "presets "
           "give them; no furniture, no people, one point for each speaker and a few heads for "
           "each "
           "seat. Calculated, not measured: measure before and after building.";
}

/* The numbers come from the limits in force, so that the words are true for jobs that set their
 * own. Which part is published and which is ours must be said: a client may ask another. */
static void definitions(ebb_report_doc *doc, const ebb_limits *l)
{
    ebb_report_say(
        doc, EBB_REPORT_TEXT,
        "Every speaker is heard at every head: for music each seat has three heads, the middle and "
        "%g m to both sides; for voice a talker and a microphone or listener are moved a little. "
        "The "
        "level is averaged over a sliding third of an octave and compared with the mean of its "
        "band. "
        "The decay of each third-octave band is taken from the damped modes of the room as they "
        "are "
        "heard at that head. Each response on a grid of 24 points an octave gives cells; a cell is "
        "wrong once if its level is off by more than the limit or its band decays too slowly.",
        l->head_offset);
    ebb_report_say(
        doc, EBB_REPORT_TEXT,
        "A room is right for a use when at least %.0f %% of the response cells are inside "
        "\u00b1%g dB, none is beyond %g dB, and no decay is above %g times its limit. The \u00b1%g "
        "dB "
        "and the decay limits are published; the %.0f %%, the %g dB and the factor %g are our own "
        "allowance for what a calculation can not know. For voice the reverberation of the middle "
        "band and the speech index must hold as well.",
        100.0 * l->response_inside, l->response_deviation, l->response_worst, l->decay_factor,
        l->response_deviation, 100.0 * l->response_inside, l->response_worst, l->decay_factor);
    ebb_report_say(
        doc, EBB_REPORT_TEXT,
        "The kept plan is then calculated again for draws of wall properties, dimensions, "
        "temperature, unit tuning and positions. Music if at least half of the draws are right for "
        "music; else voice if at least half are right for voice; else no. Sure is the share of "
        "draws "
        "on the side of the verdict. Mended is 1 minus the wrong share after over the wrong share "
        "before, where before is the untreated room with the best seats.");
}

static const char *origin(ebb_limit_origin origin)
{
    switch (origin) {
    case EBB_LIMIT_STANDARD:
        return "standard";
    case EBB_LIMIT_PAPER:
        return "paper";
    case EBB_LIMIT_PRACTICE:
        return "common practice";
    case EBB_LIMIT_OWN:
        break;
    }
    return "our choice";
}

/* Value in force: the job may override the table. */
static double in_force(const ebb_job *job, size_t row, const ebb_limit *limit, bool *own)
{
    *own = false;
    double value = limit->value;
    for (size_t i = 0; i < job->n_overrides; i++) {
        if (job->overrides[i].limit == row) {
            value = job->overrides[i].value;
            *own = true;
        }
    }
    return value;
}

/* The whole table, also what the verdict did not need: an engineer looks for what is missing. */
static void limits_table(ebb_report_source *source)
{
    static const ebb_report_column COLUMNS[] = {
        {"Limit", 2.6, false}, {"Value", 0.9, true}, {"Kind", 1.0, false}, {"Source", 2.8, false}};
    ebb_report_doc *doc = source->doc;
    size_t n;
    const ebb_limit *limit = ebb_limit_table(&n);
    ebb_report_say(doc, EBB_REPORT_SUBHEADING, "The limits");
    ebb_report_table *table = ebb_report_table_start(doc, "Limits in force", 4, COLUMNS);
    for (size_t i = 0; i < n; i++) {
        bool own;
        const double value = in_force(source->answers->job, i, &limit[i], &own);
        const char *cell[4] = {ebb_report_clean(doc->arena, limit[i].meaning, limit[i].key),
                               ebb_report_quantity(doc->arena, limit[i].kind, value, source->units),
                               own ? "set by the job" : origin(limit[i].origin),
                               ebb_report_clean(doc->arena, limit[i].source, "\u2013")};
        ebb_report_row(doc, table, cell);
    }
}

/* Wall values decide more than anything else here, and are known worst. */
static void constructions_table(ebb_report_source *source)
{
    static const ebb_report_column COLUMNS[] = {
        {"Construction", 1.4, false}, {"From", 0.9, false}, {"Source of its values", 3.0, false}};
    ebb_report_doc *doc = source->doc;
    const ebb_job *job = source->answers->job;
    if (job->n_constructions == 0) {
        return;
    }
    ebb_report_table *table = ebb_report_table_start(doc, "Constructions", 3, COLUMNS);
    for (size_t i = 0; i < job->n_constructions; i++) {
        const ebb_construction *c = &job->constructions[i];
        const char *cell[3] = {ebb_report_clean(doc->arena, c->name, "(unnamed)"),
                               c->preset ? "preset" : "the job",
                               ebb_report_clean(doc->arena, c->source, "not given")};
        ebb_report_row(doc, table, cell);
    }
}

/* Said in every report, whatever came out. */
static void assumptions(ebb_report_source *source)
{
    static const char *const SAID[] = {
        "Rooms are rectangular boxes. Furniture, people, desks and speaker cabinets are left out.",
        "Surfaces react locally: what a spot of wall does depends on the pressure at that spot "
        "alone. "
        "Wall values are typical ones; the draws spread them, a measurement pins them down.",
        "A speaker is a point, a head is a point. Below the middle band both are small against the "
        "wavelength; a large subwoofer or a wall-mounted speaker is not.",
        "Units are built as described and sealed; each takes its real depth, and the room shrinks "
        "by "
        "it.",
        "Above the modal range the decay is statistical (Eyring) and the speech index follows from "
        "it, without noise, echoes or masking.",
        "Costs are what the job says; delivery, fixing and surfaces are not in them.",
        "Nothing was measured and nobody listened. Measure the room before building and again "
        "after.",
    };
    ebb_report_doc *doc = source->doc;
    const ebb_air *air = &source->answers->job->air;
    char speed[48], warmth[48];
    ebb_quantity_print(EBB_Q_SPEED, air->speed, source->units, speed, sizeof speed);
    ebb_quantity_print(EBB_Q_TEMPERATURE, air->temperature, source->units, warmth, sizeof warmth);
    ebb_report_say(doc, EBB_REPORT_SUBHEADING, "Assumptions");
    for (size_t i = 0; i < sizeof SAID / sizeof SAID[0]; i++) {
        ebb_report_item(doc, SAID[i]);
    }
    ebb_report_item(doc,
                    ebb_arena_format(doc->arena, "Air at %s; speed of sound %s.", warmth, speed));
    constructions_table(source);
}

void ebb_report_method(ebb_report_source *source)
{
    ebb_report_doc *doc = source->doc;
    ebb_limits limits;
    ebb_limits_of(source->answers->job, &limits);
    ebb_report_say(doc, EBB_REPORT_HEADING, "How it was judged");
    definitions(doc, &limits);
    limits_table(source);
    assumptions(source);
}

/* Formulas that were used outside their range, said where the client reads them. */
static void warnings(ebb_report_source *source)
{
    ebb_report_doc *doc = source->doc;
    bool any = false;
    for (size_t i = 0; i < ebb_ctx_messages(source->ctx); i++) {
        const ebb_message *message = ebb_ctx_message(source->ctx, i);
        if (message->status != EBB_OK) {
            continue;
        }
        if (!any) {
            ebb_report_say(doc, EBB_REPORT_SUBHEADING, "What the calculation warned about");
        }
        any = true;
        ebb_report_item(doc, ebb_report_clean(doc->arena, message->text, "-"));
    }
}

/* The cautions are the last thing read before somebody builds. */
void ebb_report_closing(ebb_report_source *source)
{
    ebb_report_doc *doc = source->doc;
    size_t n;
    const char *const *caution = ebb_cautions(&n);
    warnings(source);
    ebb_report_say(doc, EBB_REPORT_HEADING, "Cautions");
    for (size_t i = 0; i < n; i++) {
        ebb_report_item(doc, caution[i]);
    }
}
