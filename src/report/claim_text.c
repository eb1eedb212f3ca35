/* SPDX-License-Identifier: GPL-3.0-or-later */
/* claim_text.c - labels judged, for a terminal. */
#include "column.h"
#include "unit_words.h"
#include "words.h"

#include <math.h>

typedef struct writer {
    ebb_report_text_buffer out;
    ebb_arena *arena;
    ebb_units units;
} writer;

/* A value in the kind of the label's figures. */
static void put_value(writer *w, const ebb_claim *claim, double value, size_t width)
{
    const char *text = "\u2013";
    if (isfinite(value)) {
        text = claim->kind == EBB_FIGURE_AREA
                   ? ebb_report_quantity(w->arena, EBB_Q_AREA, value, w->units)
                   : ebb_arena_format(w->arena, "%.2f", value);
    }
    ebb_report_puts(&w->out, "  ");
    ebb_report_field(&w->out, text, width, true);
}

/* The table for the eye, the reasons under it: in a column they would be broken into many lines. */
static void figure_rows(writer *w, const ebb_claim_check *check)
{
    ebb_report_puts(&w->out,
                    "\n      Hz     claimed   best found  this alone  then normal  verdict\n");
    for (size_t i = 0; i < check->n; i++) {
        const ebb_claim_figure *f = &check->figure[i];
        ebb_report_field(&w->out, ebb_arena_format(w->arena, "%.4g", f->hz), 8, true);
        put_value(w, check->claim, f->value, 10);
        put_value(w, check->claim, f->reached, 11);
        put_value(w, check->claim, f->alone, 10);
        ebb_report_puts(&w->out, "  ");
        ebb_report_field(
            &w->out, isfinite(f->normal) ? ebb_arena_format(w->arena, "%.2f", f->normal) : "\u2013",
            11, true);
        ebb_report_putf(&w->out, "  %s\n", ebb_claim_word_name(f->word));
    }
    ebb_report_puts(&w->out, "\n");
    for (size_t i = 0; i < check->n; i++) {
        const char *lead = ebb_arena_format(w->arena, "  %6.4g Hz: ", check->figure[i].hz);
        ebb_report_wrap(&w->out, ebb_report_must(&w->out, lead), check->figure[i].why);
    }
}

/* Verdicts before the box: the question was the label. */
static void claim_part(writer *w, const ebb_claim_check *check)
{
    ebb_report_puts(&w->out, "\n");
    ebb_report_wrap(&w->out, "", ebb_report_clean(w->arena, check->claim->name, "(unnamed)"));
    ebb_report_wrap(&w->out, "  ", ebb_report_claim_head(w->arena, check->claim, w->units));
    figure_rows(w, check);
    ebb_report_puts(&w->out, "\n");
    ebb_report_wrap(&w->out, "  ", check->summary);
    if (isfinite(check->flat)) {
        ebb_report_wrap(&w->out, "  ",
                        ebb_arena_format(w->arena,
                                         "If the depth were spent evenly over these frequencies, "
                                         "it would allow %.2f throughout.",
                                         check->flat));
    }
    if (check->searched) {
        const char *box = ebb_report_claim_box(w->arena, &check->box, w->units);
        const char *line = ebb_arena_format(w->arena, "Best box we found for all figures: %s.",
                                            ebb_report_must(&w->out, box));
        ebb_report_wrap(&w->out, "  ", line);
    }
}

/* What the words mean stands under every answer: it will be quoted to somebody. */
static void closing(writer *w)
{
    ebb_report_puts(&w->out, "\n");
    ebb_report_wrap(
        &w->out, "",
        "The depth limit is a bound for passive, linear, sealed absorbers on a rigid wall; what "
        "the best box reaches is what we found and no proof. Boxes of the search have soft mounts, "
        "perfect joints and walls without thickness: a real one does less. A figure from a "
        "reverberation room can be 1 and more while the same unit takes 0.4 at normal incidence; "
        "ask how the figures were measured. Active absorbers are outside all this.");
}

ebb_status ebb_report_claims_text(ebb_ctx *ctx, ebb_arena *arena, const ebb_claim_checks *checks,
                                  int units, const char **text)
{
    writer w = {.out = {.arena = arena},
                .arena = arena,
                .units = units < 0 ? checks->library->units : (ebb_units)units};
    *text = NULL;
    ebb_report_wrap(&w.out, "", ebb_report_unit_trace(arena, checks->library, w.units));
    for (size_t i = 0; i < checks->n; i++) {
        claim_part(&w, checks->check[i]);
    }
    closing(&w);
    if (w.out.failed) {
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the text");
    }
    *text = w.out.data;
    return EBB_OK;
}
