/* SPDX-License-Identifier: GPL-3.0-or-later */
/* rooms.c - the pages of one room: verdict, figures, drawings. */
#include "document.h"
#include "words.h"

#include <math.h>
#include <string.h>

/* What a figure needs when it is drawn, long after it was added. */
typedef struct view {
    const ebb_answer *answer;
    const ebb_layout *layout;
    ebb_units units;
} view;

static ebb_status paint_room(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame, const void *what)
{
    const view *v = what;
    return ebb_draw_room(ctx, cr, frame, v->answer, v->layout, v->units);
}

static ebb_status paint_response(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame,
                                 const void *what)
{
    return ebb_draw_response(ctx, cr, frame, ((const view *)what)->answer);
}

static ebb_status paint_decay(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame, const void *what)
{
    return ebb_draw_decay(ctx, cr, frame, ((const view *)what)->answer);
}

static ebb_status paint_mid(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame, const void *what)
{
    return ebb_draw_mid(ctx, cr, frame, ((const view *)what)->answer);
}

/* Short names for what is said about a room; the heading alone has the whole one. */
static const char *name_of(ebb_report_doc *doc, const ebb_answer *answer)
{
    return ebb_report_got(doc, ebb_report_room_name(doc->arena, answer));
}

/* Verdict, reasons, what stays wrong: in this order on the first page of a room, before any number.
 */
static void verdict(ebb_report_source *source, const ebb_answer *answer)
{
    ebb_report_doc *doc = source->doc;
    const char *sure = ebb_report_got(doc, ebb_report_sure(doc->arena, answer));
    ebb_report_block *banner =
        ebb_report_say(doc, EBB_REPORT_BANNER, "%s: %s (%s)", ebb_verdict_name(answer->verdict),
                       ebb_report_verdict(answer), sure);
    if (banner) {
        banner->ink = ebb_report_verdict_ink(answer);
    }
    ebb_report_say(doc, EBB_REPORT_SUBHEADING, "Why");
    for (size_t i = 0; i < answer->n_reasons; i++) {
        ebb_report_item(doc, ebb_report_clean(doc->arena, answer->reasons[i], "-"));
    }
    if (answer->n_reasons == 0) {
        ebb_report_say(doc, EBB_REPORT_TEXT, "No reason was recorded.");
    }
}

typedef enum form {
    FORM_PERCENT,
    FORM_DECIBEL,
    FORM_TIMES,
    FORM_HZ,
    FORM_SECONDS,
    FORM_INDEX
} form;

/* A number of a case in words; a dash where the case was not calculated: the zeros of an empty
 * struct would look like results. */
static const char *figure(ebb_report_doc *doc, form kind, bool known, double value)
{
    if (!known || (kind != FORM_HZ && !isfinite(value))) {
        return "\u2013";
    }
    switch (kind) {
    case FORM_PERCENT:
        return ebb_report_percent(doc->arena, value);
    case FORM_DECIBEL:
        return ebb_arena_format(doc->arena, "%.1f dB", value);
    case FORM_TIMES:
        return ebb_arena_format(doc->arena, "%.2f times", value);
    case FORM_HZ:
        return ebb_report_hz(doc->arena, value);
    case FORM_SECONDS:
        return ebb_arena_format(doc->arena, "%.2f s", value);
    case FORM_INDEX:
        break;
    }
    return ebb_arena_format(doc->arena, "%.2f", value);
}

/* One row of the key figures: the same number before and after, and what a right room needs. */
typedef struct key_row {
    const char *what;
    form form;
    bool known[2];
    double value[2];
    const char *needed;
} key_row;

static void add_row(ebb_report_doc *doc, ebb_report_table *table, const key_row *row)
{
    const char *cell[4] = {row->what, figure(doc, row->form, row->known[0], row->value[0]),
                           figure(doc, row->form, row->known[1], row->value[1]), row->needed};
    ebb_report_row(doc, table, cell);
}

/* Reverberation of the 500 and 1000 Hz octaves, where rooms are quoted. */
static double mid_decay(const ebb_mid *mid)
{
    return (mid->t60[2] + mid->t60[3]) / 2.0;
}

/* The three core numbers first, each beside its bound; then what they add up to. */
static void level_rows(ebb_report_doc *doc, ebb_report_table *table, const ebb_answer *answer)
{
    const ebb_treatment *t = ebb_report_shown(answer);
    const ebb_limits *l = &answer->limits;
    const ebb_reading *a = &t->before.reading, *b = &t->after.reading;
    const bool read[2] = {a->level != NULL, b->level != NULL};
    const key_row rows[] = {
        {ebb_arena_format(doc->arena, "Response cells inside \u00b1%g dB", l->response_deviation),
         FORM_PERCENT,
         {read[0], read[1]},
         {a->inside, b->inside},
         ebb_arena_format(doc->arena, "at least %.0f %%", 100.0 * l->response_inside)},
        {"Furthest from the mean of the band",
         FORM_DECIBEL,
         {read[0], read[1]},
         {a->worst_level, b->worst_level},
         ebb_arena_format(doc->arena, "at most %g dB", l->response_worst)},
        {"Slowest decay against its limit",
         FORM_TIMES,
         {read[0], read[1]},
         {a->worst_decay, b->worst_decay},
         ebb_arena_format(doc->arena, "at most %g times", l->decay_factor)},
        {"Cells wrong in level or decay",
         FORM_PERCENT,
         {read[0], read[1]},
         {a->wrong, b->wrong},
         "\u2013"},
        {"Right from", FORM_HZ, {read[0], read[1]}, {a->lowest_right, b->lowest_right}, "\u2013"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        add_row(doc, table, &rows[i]);
    }
}

/* Above the modal range a room has a reverberation; at 500 and 1000 Hz it is usually quoted. The
 * speech index is told for music too, but needed for voice only. */
static void mid_rows(ebb_report_doc *doc, ebb_report_table *table, const ebb_answer *answer)
{
    const ebb_treatment *t = ebb_report_shown(answer);
    const ebb_mid *a = &t->before.mid, *b = &t->after.mid;
    const bool known[2] = {a->t60[2] > 0.0, b->t60[2] > 0.0};
    double mask[2];
    const double left = ebb_layout_volume(answer->room, &t->after.layout);
    /* As judged: of what the units leave of the room. */
    ebb_mid_mask(&answer->limits, t->use, left > 0.0 ? left : ebb_room_volume(answer->room), 2,
                 mask);
    const bool voice = t->use == EBB_USE_VOICE;
    const key_row rows[] = {
        {"Reverberation at 500 and 1000 Hz",
         FORM_SECONDS,
         {known[0], known[1]},
         {mid_decay(a), mid_decay(b)},
         isfinite(mask[0]) && isfinite(mask[1])
             ? ebb_arena_format(doc->arena, "%.2f to %.2f s", mask[0], mask[1])
             : "\u2013"},
        {"Speech index (STI)",
         FORM_INDEX,
         {known[0], known[1]},
         {a->speech_index, b->speech_index},
         voice ? ebb_arena_format(doc->arena, "at least %.2f", answer->limits.speech_index)
               : "\u2013"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        add_row(doc, table, &rows[i]);
    }
}

/* Before and after side by side with what is needed: whoever checks a verdict starts here. */
static void key_figures(ebb_report_source *source, const ebb_answer *answer)
{
    static const ebb_report_column COLUMNS[] = {
        {"Figure", 2.4, false}, {"Before", 1.0, true}, {"After", 1.0, true}, {"Needed", 1.4, true}};
    ebb_report_doc *doc = source->doc;
    const ebb_treatment *t = ebb_report_shown(answer);
    ebb_report_say(doc, EBB_REPORT_SUBHEADING, "Key figures for %s", ebb_report_use(t->use));
    ebb_report_table *table =
        ebb_report_table_start(doc, "Key figures before and after treatment", 4, COLUMNS);
    level_rows(doc, table, answer);
    mid_rows(doc, table, answer);
    const char *count[4] = {"Faults listed",
                            ebb_arena_format(doc->arena, "%zu", t->before.faults.n),
                            ebb_arena_format(doc->arena, "%zu", t->after.faults.n), "\u2013"};
    ebb_report_row(doc, table, count);
}

/* What the relaxed search says about the reason for a miss. */
static const char *ideal(const ebb_treatment *t)
{
    if (!t->relaxed_run) {
        return "not tried";
    }
    return t->relaxed_right ? "comes right" : "not right either";
}

/* A use that was not asked for has no row. */
static void use_row(ebb_report_doc *doc, ebb_report_table *table, const ebb_treatment *t)
{
    if (!t->asked) {
        return;
    }
    const bool read = t->before.reading.level && t->after.reading.level;
    const char *cell[6] = {
        ebb_report_use(t->use),
        t->odds.draws ? ebb_report_percent(doc->arena, t->odds.share) : "\u2013",
        t->odds.draws ? ebb_arena_format(doc->arena, "%+.2f", t->odds.margin_median) : "\u2013",
        read ? ebb_arena_format(doc->arena, "%.0f %% \u2192 %.0f %%",
                                100.0 * t->before.reading.wrong, 100.0 * t->after.reading.wrong)
             : "\u2013",
        ebb_report_mended(doc->arena, t),
        ideal(t)};
    ebb_report_row(doc, table, cell);
}

/* What stops a use, unless one of the reasons has said it already. */
static void why_not(ebb_report_doc *doc, const ebb_answer *answer, const ebb_treatment *t)
{
    const char *stopper = ebb_report_got(doc, ebb_report_clean(doc->arena, t->stopper, ""));
    bool said = *stopper == '\0';
    for (size_t i = 0; i < answer->n_reasons; i++) {
        said = said || (answer->reasons[i] && strstr(answer->reasons[i], t->stopper));
    }
    if (t->asked && !said) {
        ebb_report_say(doc, EBB_REPORT_TEXT, "Why not %s: %s.", ebb_report_use(t->use), stopper);
    }
}

/* A room may miss music by a hair and be sure for voice: both are told, whichever decided. */
static void uses(ebb_report_source *source, const ebb_answer *answer)
{
    static const ebb_report_column COLUMNS[] = {
        {"Use", 0.8, false},   {"Draws in which it is right", 1.2, true},
        {"Margin", 0.8, true}, {"Cells wrong, before \u2192 after", 1.4, true},
        {"Mended", 1.1, true}, {"With ideal absorbers", 1.2, false}};
    ebb_report_doc *doc = source->doc;
    ebb_report_say(doc, EBB_REPORT_SUBHEADING, "Use by use");
    ebb_report_table *table = ebb_report_table_start(doc, "How each use comes out", 6, COLUMNS);
    use_row(doc, table, &answer->music);
    use_row(doc, table, &answer->voice);
    ebb_report_say(doc, EBB_REPORT_QUIET,
                   "Margin: how far the nearest of the three core numbers is from its bound, as a "
                   "share of it; below zero it is missed. Ideal absorbers have no depth, take "
                   "everything and may hang anywhere: if even they do not make the room right, no "
                   "wall treatment we could find reaches it. All of these are results of a search, "
                   "not proofs.");
    why_not(doc, answer, &answer->music);
    why_not(doc, answer, &answer->voice);
}

/* The spread over the starts tells how far the search can be trusted to have found the best. */
static void plan_line(ebb_report_source *source, const ebb_answer *answer)
{
    ebb_report_doc *doc = source->doc;
    const ebb_treatment *t = ebb_report_shown(answer);
    const ebb_layout *layout = &t->after.layout;
    char side[3][48];
    if (!t->after.reading.level) {
        ebb_report_say(doc, EBB_REPORT_TEXT, "No plan was calculated.");
        return;
    }
    for (int i = 0; i < 3; i++) {
        ebb_quantity_print(EBB_Q_LENGTH, layout->size[i], source->units, side[i], sizeof side[i]);
    }
    ebb_report_say(doc, EBB_REPORT_TEXT,
                   "The plan: %zu units, %s in all, cost %s; %s of walls and ceiling covered. It "
                   "leaves %s \u00d7 %s \u00d7 %s of the room. The search was started %zu times; "
                   "between %s and %s of the cells stayed wrong.",
                   layout->n_placed,
                   ebb_report_got(doc, ebb_report_mass(doc->arena, layout->mass, source->units)),
                   ebb_report_got(doc, ebb_report_money(doc->arena, layout->cost)),
                   ebb_report_got(doc, ebb_report_percent(doc->arena, layout->cover)), side[0],
                   side[1], side[2], source->answers->effort->starts,
                   ebb_report_got(doc, ebb_report_percent(doc->arena, t->best_start)),
                   ebb_report_got(doc, ebb_report_percent(doc->arena, t->worst_start)));
}

/* The words for those who can not see a drawing. */
static const char *alt(ebb_report_doc *doc, const char *what, const ebb_answer *answer)
{
    const ebb_reading *a = &ebb_report_shown(answer)->before.reading;
    const ebb_reading *b = &ebb_report_shown(answer)->after.reading;
    return ebb_report_got(
        doc, ebb_arena_format(doc->arena,
                              "%s, %s. Cells inside the limit %.0f %% before and %.0f %% after; "
                              "furthest %.1f dB before and %.1f dB after; slowest decay %.2f and "
                              "%.2f times its limit.",
                              name_of(doc, answer), what, 100.0 * a->inside, 100.0 * b->inside,
                              a->worst_level, b->worst_level, a->worst_decay, b->worst_decay));
}

/* A page for the drawing, as large as it can be: builders work from it. */
static void drawing(ebb_report_source *source, const ebb_answer *answer, const view *v)
{
    ebb_report_doc *doc = source->doc;
    ebb_report_say(doc, EBB_REPORT_PAGE, "%s", "");
    ebb_report_say(doc, EBB_REPORT_SUBHEADING, "%s: the plan, to scale", name_of(doc, answer));
    const ebb_report_figure figure = {
        paint_room, v, 400.0, 560.0,
        ebb_report_got(doc, ebb_arena_format(doc->arena,
                                             "Plan, ceiling and walls of %s with %zu units; their "
                                             "places are in the table of units.",
                                             name_of(doc, answer), v->layout->n_placed))};
    ebb_report_figure_add(doc, &figure);
    ebb_report_stations(source, answer);
}

/* Three plots that belong together on one page: what is heard, how long, and how live the room is.
 */
static void plots(ebb_report_source *source, const ebb_answer *answer, const view *v)
{
    ebb_report_doc *doc = source->doc;
    ebb_report_say(doc, EBB_REPORT_PAGE, "%s", "");
    ebb_report_say(doc, EBB_REPORT_SUBHEADING, "%s: before and after", name_of(doc, answer));
    const struct {
        ebb_paint_fn paint;
        double height;
        const char *what, *caption;
    } parts[] = {{paint_response, 225.0, "levels at the heads before and after",
                  "Each line is one speaker heard at one head. Inside the shaded band the level is "
                  "right."},
                 {paint_decay, 225.0, "decay times of the modes before and after",
                  "What lies above the solid limit line rings on audibly. The verdict counts the "
                  "bars: bands as "
                  "heard at the heads."},
                 {paint_mid, 190.0, "reverberation of the middle band before and after",
                  "Above the band a room sounds too live, below it too dry."}};
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
        const ebb_report_figure figure = {parts[i].paint, v, parts[i].height, parts[i].height,
                                          alt(doc, parts[i].what, answer)};
        ebb_report_figure_add(doc, &figure);
        ebb_report_say(doc, EBB_REPORT_QUIET, "%s", parts[i].caption);
    }
}

void ebb_report_room(ebb_report_source *source, const ebb_answer *answer)
{
    ebb_report_doc *doc = source->doc;
    view *v = EBB_NEW(doc->arena, view, 1);
    if (!v) {
        doc->failed = true;
        return;
    }
    *v = (view){answer, &ebb_report_shown(answer)->after.layout, source->units};
    ebb_report_say(
        doc, EBB_REPORT_HEADING, "%s",
        ebb_report_got(doc, ebb_report_clean(doc->arena, answer->room->name, "(unnamed room)")));
    verdict(source, answer);
    ebb_report_stays(source, answer);
    key_figures(source, answer);
    uses(source, answer);
    plan_line(source, answer);
    drawing(source, answer, v);
    plots(source, answer, v);
    ebb_report_faults(source, answer);
    ebb_report_unit_places(source, answer);
}
