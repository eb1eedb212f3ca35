/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The comparison of both models in words. */
#include "private.h"

static const char *plural(size_t n)
{
    return n == 1 ? "" : "s";
}

/* One plan, two opinions: those are told wherever they differ, at nominal values. */
static const char *outcome(const ebb_verified *v)
{
    const bool flips = ebb_verified_flips(v);
    if (v->right == v->flat_right)
        return "the verdict stays";
    if (v->right)
        return flips ? "the verdict does NOT stay: the search model calls the plan wrong, the "
                       "boxes call it right"
                     : "the search model calls the plan wrong at nominal values, the boxes call it "
                       "right, as most draws do: the verdict stays";
    return flips ? "the verdict does NOT stay: the search model calls the plan right, the boxes "
                   "call it wrong"
                 : "the search model calls the plan right at nominal values, the boxes call it "
                   "wrong, as most draws do: the verdict stays";
}

/* A cubic metre has a thousand litres: gaps are a few of them. */
static const char *closed_words(ebb_arena *arena, const ebb_verified *v)
{
    if (v->n_closed == 0)
        return "";
    return ebb_arena_format(arena, " %zu narrow place%s between units (%.1f l) %s closed for it.",
                            v->n_closed, plural(v->n_closed), 1000 * v->closed,
                            v->n_closed == 1 ? "was" : "were");
}

/* That a unit stands before the front of another is news: the flat model can not see it. */
static const char *covered_words(ebb_arena *arena, const ebb_verified *v)
{
    if (v->n_covered == 0)
        return "";
    return ebb_arena_format(arena,
                            " Other units stand before %zu front%s (most: %.0f %% of one); of such "
                            "fronts the largest free rectangle works.",
                            v->n_covered, plural(v->n_covered), 100 * v->covered_most);
}

static const char *flat_words(ebb_arena *arena, const ebb_verified *v)
{
    if (v->n_flat == 0)
        return "";
    return ebb_arena_format(arena, " %zu unit%s less than 10 mm deep stayed flat.", v->n_flat,
                            plural(v->n_flat));
}

ebb_status ebb_verify_words(ebb_ctx *ctx, ebb_arena *arena, ebb_verified *v)
{
    if (!v->solved) {
        v->sentence =
            ebb_arena_format(arena, "Not solved again with the units as boxes: %s.", v->reason);
        return v->sentence != NULL ? EBB_OK : ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    }
    const char *closed = closed_words(arena, v), *covered = covered_words(arena, v);
    const char *flat = flat_words(arena, v);
    if (closed != NULL && covered != NULL && flat != NULL)
        v->sentence = ebb_arena_format(
            arena,
            "%solved again with the units as boxes in the room: third-octave levels differ by %.1f "
            "dB for 95 %% of them (most %.1f dB); wrong share %.1f %% against %.1f %%; %s.%s%s%s",
            ebb_verified_flips(v) ? "THE VERDICT FLIPS. S" : "S", v->level, v->level_most,
            100 * v->wrong, 100 * v->flat_wrong, outcome(v), closed, covered, flat);
    return v->sentence != NULL ? EBB_OK : ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
}
