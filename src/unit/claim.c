/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What a label can claim.
 *
 * Two questions are kept apart: does a bound forbid a figure, and is there a box that does it. What
 * lies between stays open. And three kinds of figure are kept apart: normal incidence, random
 * incidence, area of one unit; the same box shows very different numbers in each.
 */
#include "claim.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#define NEAR 0.02 /* a figure counts as reached within this much: printed to two digits */

/* Each reads on from "this figure is"; none says more than was shown. */
const char *ebb_claim_word_name(ebb_claim_word word)
{
    switch (word) {
    case EBB_CLAIM_POSSIBLE:
        return "possible";
    case EBB_CLAIM_ONLY_DIFFUSE:
        return "possible only as a reverberation-room figure";
    case EBB_CLAIM_NOT_FOUND:
        return "no box found that does it";
    case EBB_CLAIM_IMPOSSIBLE:
        return "not possible with a passive absorber";
    case EBB_CLAIM_UNTOLD:
        break;
    }
    return "can not be told";
}

static const char *say(ebb_unit_desk *d, const char *format, ...) EBB_PRINTF(2, 3);
/* Sentences are cut at a length that none of them reaches; a failure is told once at the end. */
static const char *say(ebb_unit_desk *d, const char *format, ...)
{
    char text[600];
    va_list values;
    va_start(values, format);
    vsnprintf(text, sizeof text, format, values);
    va_end(values);
    const char *kept = ebb_arena_text(d->arena, text);
    d->failed = d->failed || kept == NULL;
    return kept != NULL ? kept : "";
}

/* Depths are told in the units of the reader, who will hold a rule against the box. */
static const char *length(const ebb_unit_desk *d, double metres, char out[48])
{
    return ebb_quantity_print(EBB_Q_LENGTH, metres, d->units, out, 48);
}

/* ---- words for figures ----------------------------------------------------------------------- */

/* A verdict never goes without its reason. */
static void word(ebb_claim_figure *f, ebb_claim_word word, const char *why)
{
    f->word = word;
    f->why = why;
}

/* What to ask the maker for. */
static const char *too_little(const ebb_unit_desk *d)
{
    if (!(d->claim->depth > 0))
        return "the label does not say how deep it is";
    return d->plain.done || d->diffuse.done
               ? "the label does not say how large its face is"
               : "the label contradicts itself: its fronts would weigh more than the whole";
}

/* Puts the numbers of one reading into a figure; `scale` turns coefficients into what the label
 * says. */
static void show(ebb_claim_figure *f, const ebb_unit_read *r, size_t j, double scale)
{
    f->limit = r->limit[j] * scale;
    f->reached = r->got[j] * scale;
    f->alone = r->alone[j] * scale;
    f->normal = r->normal[j];
}

/* What stays open of a figure at normal incidence. */
static const char *open_plain(ebb_unit_desk *d, const ebb_unit_read *r, size_t j)
{
    if (r->alone[j] >= r->want[j] - NEAR)
        return say(d,
                   "by itself yes, with a box tuned to it; with the other figures the best box we "
                   "found has %.2f here",
                   r->got[j]);
    return say(d,
               "the best box we found for this figure alone reaches %.2f; no bound forbids more%s",
               r->alone[j],
               d->claim->front ? "" : ", and a heavy blanket that moves as a whole may show it");
}

/* Normal incidence: a bound on top, then the depth limit, then what was found. */
static void judge_plain(ebb_unit_desk *d, size_t j)
{
    const ebb_unit_read *r = &d->plain;
    ebb_claim_figure *f = &d->figure[j];
    char depth[48], needed[48];
    show(f, r, j, 1);
    if (r->want[j] > 1)
        word(f, EBB_CLAIM_IMPOSSIBLE,
             "at normal incidence nothing can take more than arrives: 1 is the most");
    else if (!r->done)
        word(f, EBB_CLAIM_UNTOLD, too_little(d));
    else if (r->got[j] >= r->want[j] - NEAR)
        word(f, EBB_CLAIM_POSSIBLE,
             say(d, "the best box we found of that depth reaches %.2f", r->got[j]));
    else if (d->forbidden[j])
        word(f, EBB_CLAIM_IMPOSSIBLE,
             say(d,
                 "together with the figures above it this asks for more depth than there is: all "
                 "of them need %s at least, it has %s",
                 length(d, d->check->needed, needed), length(d, d->claim->depth, depth)));
    else
        word(f, EBB_CLAIM_NOT_FOUND, open_plain(d, r, j));
}

/* Random incidence, also by the area of one unit. */
static void judge_diffuse(ebb_unit_desk *d, size_t j)
{
    const ebb_unit_read *r = &d->diffuse;
    ebb_claim_figure *f = &d->figure[j];
    show(f, r, j, d->claim->kind == EBB_FIGURE_AREA ? d->claim->face[0] * d->claim->face[1] : 1);
    if (d->face && r->want[j] > r->limit[j])
        word(f, EBB_CLAIM_IMPOSSIBLE,
             say(d, "no passive surface of that face can show more than %.3g there, however deep",
                 f->limit));
    else if (!r->done || (!d->face && r->want[j] > EBB_UNIT_LARGEST_DIFFUSE))
        word(f, EBB_CLAIM_UNTOLD, too_little(d));
    else if (r->got[j] >= r->want[j] - NEAR)
        word(f, EBB_CLAIM_POSSIBLE,
             say(d,
                 "a box that shows %.2f was found, and %.2f at normal incidence is enough for "
                 "it%s: that is what counts on a large area",
                 f->reached, f->normal, d->face ? ", as one unit alone in a wall" : ""));
    else
        word(f, EBB_CLAIM_NOT_FOUND,
             say(d, "the best box we found for all figures shows %.2f, for this one alone %.2f",
                 f->reached, f->alone));
}

/* A coefficient of unsaid kind: at normal incidence it would say most, so that is asked first. */
static void judge_unsaid(ebb_unit_desk *d, size_t j)
{
    ebb_claim_figure *f = &d->figure[j];
    const ebb_unit_read *r = &d->diffuse;
    judge_plain(d, j);
    if (f->word == EBB_CLAIM_POSSIBLE || !r->done)
        return;
    const bool over = d->face && r->want[j] > r->limit[j];
    if (r->got[j] >= r->want[j] - NEAR) {
        show(f, r, j, 1);
        word(f, EBB_CLAIM_ONLY_DIFFUSE,
             say(d,
                 "not at normal incidence; from a reverberation room yes, for one unit alone, and "
                 "then %.2f at normal incidence is enough",
                 f->normal));
    } else if (f->word == EBB_CLAIM_IMPOSSIBLE && !over) {
        /* One reading is forbidden, the other is open. */
        word(f, EBB_CLAIM_NOT_FOUND,
             say(d,
                 "not possible at normal incidence; as a reverberation-room figure the best box "
                 "we found shows %.2f",
                 r->got[j]));
    } else if (over && f->word == EBB_CLAIM_NOT_FOUND) {
        word(f, EBB_CLAIM_NOT_FOUND,
             say(d,
                 "not possible as a reverberation-room figure; at normal incidence the best box "
                 "we found has %.2f",
                 f->reached));
    }
}

/* Areas without a face: only the largest area that anything small can show is known. */
static void judge_area_alone(ebb_unit_desk *d, size_t j)
{
    ebb_claim_figure *f = &d->figure[j];
    const double wavelength = d->air->speed / f->hz;
    f->limit = 2 * wavelength * wavelength / EBB_UNIT_TWO_PI;
    if (f->value > f->limit)
        word(f, EBB_CLAIM_IMPOSSIBLE,
             say(d,
                 "one small unit in a wall can not show more than %.3g m2 at this wavelength, and "
                 "the label gives no large face",
                 f->limit));
    else
        word(f, EBB_CLAIM_UNTOLD, "the label does not say how large its face is");
}

/* The kind of figure decides which of the readings counts. */
static void judge_figure(ebb_unit_desk *d, size_t j)
{
    switch (d->claim->kind) {
    case EBB_FIGURE_NORMAL:
        judge_plain(d, j);
        break;
    case EBB_FIGURE_UNSAID:
        judge_unsaid(d, j);
        break;
    case EBB_FIGURE_DIFFUSE:
        judge_diffuse(d, j);
        break;
    case EBB_FIGURE_AREA:
        if (d->face)
            judge_diffuse(d, j);
        else
            judge_area_alone(d, j);
        break;
    }
}

/* ---- the whole ------------------------------------------------------------------------------- */

/* How many figures got which word, the words that none got left out. */
static const char *counts(ebb_unit_desk *d)
{
    static const struct {
        ebb_claim_word word;
        const char *text;
    } WORDS[] = {{EBB_CLAIM_POSSIBLE, "possible"},
                 {EBB_CLAIM_ONLY_DIFFUSE, "possible only as reverberation-room figures"},
                 {EBB_CLAIM_IMPOSSIBLE, "not possible with a passive absorber"},
                 {EBB_CLAIM_NOT_FOUND, "with no box found that does it"},
                 {EBB_CLAIM_UNTOLD, "not to be told"}};
    const char *text = say(d, "Of %zu figure%s:", d->claim->n, d->claim->n == 1 ? "" : "s");
    bool first = true;
    for (size_t w = 0; w < sizeof WORDS / sizeof WORDS[0]; w++) {
        size_t n = 0;
        for (size_t j = 0; j < d->claim->n; j++)
            n += d->figure[j].word == WORDS[w].word;
        if (n > 0)
            text = say(d, "%s%s %zu %s", text, first ? "" : ",", n, WORDS[w].text);
        first = first && n == 0;
    }
    return text;
}

/* The depth that all figures together ask for is worth a sentence even when each alone is possible:
 * it is what a buyer can check with a rule. */
static void summarise(ebb_unit_desk *d)
{
    const ebb_claim_check *c = d->check;
    char needed[48], air[48], depth[48];
    const char *first = counts(d);
    const bool deep = d->claim->depth > 0;
    if (!isfinite(c->needed)) {
        d->check->summary = say(d, "%s.", first);
        return;
    }
    d->check->summary =
        say(d,
            "%s. Read at normal incidence, all of them together need %s of depth at least with the "
            "softest fill assumed, %s with air%s%s.",
            first, length(d, c->needed, needed), length(d, c->needed_air, air),
            deep ? "; it has " : "", deep ? length(d, d->claim->depth, depth) : "");
}

/* The reader of library files sorts and bounds them, but claims may come from other programs too.
 */
static ebb_status check_figures(ebb_ctx *ctx, const ebb_claim *claim)
{
    for (size_t j = 0; j < claim->n; j++) {
        const ebb_figure *f = &claim->figure[j];
        const bool rising = j == 0 || f->hz > claim->figure[j - 1].hz;
        if (!(f->hz > 0 && isfinite(f->hz) && isfinite(f->value) && f->value >= 0 && rising))
            return ebb_fail(ctx, EBB_E_RANGE,
                            "claim \"%s\": figure %zu, %g at %g Hz; frequencies must rise, values "
                            "be finite",
                            claim->name, j + 1, f->value, f->hz);
    }
    return claim->n > 0 ? EBB_OK
                        : ebb_fail(ctx, EBB_E_RANGE, "claim \"%s\" has no figures", claim->name);
}

/* Where the label leaves both readings open the box for normal incidence is shown: it promises
 * more. */
static ebb_status work(ebb_unit_desk *d)
{
    const ebb_claim *claim = d->claim;
    ebb_status status = ebb_unit_read_figures(d);
    if (status != EBB_OK)
        return status;
    for (size_t j = 0; j < claim->n; j++) {
        d->figure[j] = (ebb_claim_figure){.hz = claim->figure[j].hz,
                                          .value = claim->figure[j].value,
                                          .reached = NAN,
                                          .alone = NAN,
                                          .normal = NAN,
                                          .limit = NAN};
        judge_figure(d, j);
    }
    const ebb_unit_read *shown = d->plain.done ? &d->plain : &d->diffuse;
    d->check->searched = shown->done;
    d->check->box = shown->box;
    summarise(d);
    return d->failed ? ebb_fail(d->ctx, EBB_E_NOMEM, "no memory for a claim") : EBB_OK;
}

/* Everything that is only needed on the way goes into an arena of its own. */
ebb_status ebb_claim_judge(ebb_ctx *ctx, ebb_arena *arena, const ebb_claim *claim,
                           const ebb_air *air, ebb_units units, ebb_claim_check **check)
{
    *check = NULL;
    ebb_status status = check_figures(ctx, claim);
    if (status != EBB_OK)
        return status;
    ebb_unit_desk d = {.ctx = ctx, .arena = arena, .claim = claim, .air = air, .units = units};
    d.scratch = ebb_arena_new(ctx);
    d.check = EBB_NEW(arena, ebb_claim_check, 1);
    d.figure = EBB_NEW(arena, ebb_claim_figure, claim->n);
    d.forbidden = EBB_NEW(d.scratch, bool, claim->n);
    d.face = claim->face[0] > 0 && claim->face[1] > 0;
    if (d.check == NULL || d.figure == NULL || d.forbidden == NULL) {
        status = ebb_fail(ctx, EBB_E_NOMEM, "no memory for a claim");
    } else {
        *d.check = (ebb_claim_check){.claim = claim,
                                     .ratio = ebb_unit_fill_ratio(claim->fill, air),
                                     .needed = NAN,
                                     .needed_air = NAN,
                                     .flat = NAN,
                                     .n = claim->n,
                                     .figure = d.figure};
        status = work(&d);
    }
    ebb_arena_free(d.scratch);
    *check = status == EBB_OK ? d.check : NULL;
    return status;
}
