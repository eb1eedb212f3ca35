/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The answer in sentences a client understands.
 */
#include "answer.h"

#include <math.h>

#define MOST_REASONS 12
#define MOST_STAYS 12

typedef struct sentences {
    ebb_arena *arena;
    size_t n, room;
    const char **text;
    bool full; /* out of memory */
} sentences;

static void say(sentences *s, const char *text)
{
    if (!text)
        s->full = true;
    else if (s->n < s->room)
        s->text[s->n++] = text;
}

static const char *use_name(ebb_use use)
{
    return use == EBB_USE_MUSIC ? "music" : "voice";
}

static void say_odds(sentences *s, const ebb_treatment *t)
{
    const ebb_odds *odds = &t->odds;
    if (odds->draws == 0) {
        say(s, ebb_arena_format(s->arena,
                                "For %s the best plan found is %s at nominal values; no "
                                "draws were made, so how sure this is is not known.",
                                use_name(t->use), t->after.reading.right ? "right" : "not right"));
        return;
    }
    say(s, ebb_arena_format(s->arena,
                            "For %s the best plan found is right in %.0f %% of %zu draws "
                            "of what is not known%s%s.",
                            use_name(t->use), 100 * odds->share, odds->draws,
                            odds->share < 1 ? "; where it is not, this fails most often: " : "",
                            odds->share < 1 ? odds->decider : ""));
}

static void say_plan(sentences *s, const ebb_answer *answer, const ebb_treatment *t)
{
    char mass[32];
    const ebb_layout *layout = &t->after.layout;
    ebb_quantity_print(EBB_Q_MASS, layout->mass, answer->job->units, mass, sizeof mass);
    if (layout->n_placed == 0)
        say(s, "No unit on the list improves it within the allowance.");
    else
        say(s, ebb_arena_format(s->arena,
                                "That plan uses %zu units, %s, on %.0f %% of walls and "
                                "ceiling.",
                                layout->n_placed, mass, 100 * layout->cover));
}

static void say_before(sentences *s, const ebb_treatment *t)
{
    const ebb_reading *was = &t->before.reading, *is = &t->after.reading;
    say(s, ebb_arena_format(s->arena,
                            "Without treatment %.0f %% of what is heard below %.0f Hz is "
                            "wrong and sound hangs on up to %.1f times its limit; with "
                            "the plan it is %.0f %% and %.2f times.",
                            100 * was->wrong, t->after.grid.highest, was->worst_decay,
                            100 * is->wrong, is->worst_decay));
}

static void say_mid(sentences *s, const ebb_answer *answer, const ebb_treatment *t)
{
    const ebb_layout *layout = &t->after.layout;
    double volume = ebb_layout_volume(answer->room, layout);
    if (t->use != EBB_USE_VOICE)
        return;
    bool right = ebb_mid_is_right(&answer->limits, t->use, volume, &t->after.mid);
    say(s, ebb_arena_format(s->arena,
                            "Speech: index %.2f against at least %.2f; decay at 500 Hz "
                            "%.2f s against a target of %.2f s%s.",
                            t->after.mid.speech_index, answer->limits.speech_index,
                            t->after.mid.t60[2], ebb_mid_target(t->use, volume),
                            right ? "" : "; the mid band is outside its mask"));
}

static void say_why_not(sentences *s, const ebb_treatment *t)
{
    if (t->stopper[0])
        say(s, ebb_arena_format(s->arena, "Why not %s: %s.", use_name(t->use), t->stopper));
}

static void say_treatment(sentences *s, const ebb_answer *answer, const ebb_treatment *t)
{
    say_odds(s, t);
    say_why_not(s, t);
    say_plan(s, answer, t);
    say_before(s, t);
    say_mid(s, answer, t);
}

static void reasons(sentences *s, const ebb_answer *answer)
{
    switch (answer->verdict) {
    case EBB_MUSIC:
        say_treatment(s, answer, &answer->music);
        break;
    case EBB_VOICE:
        say_treatment(s, answer, &answer->voice);
        if (answer->music.asked) {
            say_odds(s, &answer->music);
            say_why_not(s, &answer->music);
        }
        break;
    case EBB_NO:
        say_treatment(s, answer, &answer->voice);
        if (answer->music.asked)
            say_odds(s, &answer->music);
        break;
    }
    if (answer->near_border)
        say(s, ebb_arena_format(s->arena, "This verdict is near the border: what decides it is %s.",
                                answer->decider));
}

/* What stays wrong after the plan: its faults, and what the judgement cannot see. */
static void stays(sentences *s, const ebb_treatment *t)
{
    const ebb_faults *faults = &t->after.faults;
    for (size_t i = 0; i < faults->n && i < MOST_STAYS - 1; i++) {
        const ebb_fault *f = &faults->fault[i];
        say(s, ebb_arena_format(s->arena, "%s at %.0f Hz, %s: %s%s", ebb_fault_name(f->kind), f->hz,
                                f->place, f->cause,
                                f->equalisable ? " (an equaliser could lower it)" : ""));
    }
    if (faults->n >= MOST_STAYS)
        say(s, ebb_arena_format(s->arena, "and %zu smaller faults", faults->n - MOST_STAYS + 1));
    if (faults->n == 0)
        say(s, "Nothing beyond its limit in the judged band at nominal values.");
}

static sentences open_list(ebb_answer *answer, size_t room)
{
    sentences s = {.arena = answer->arena, .room = room};
    s.text = EBB_NEW(answer->arena, const char *, room);
    s.full = !s.text;
    return s;
}

ebb_status ebb_answer_words(ebb_ctx *ctx, ebb_answer *answer)
{
    sentences why = open_list(answer, MOST_REASONS), left = open_list(answer, MOST_STAYS);
    if (!why.full && !left.full) {
        reasons(&why, answer);
        stays(&left, answer->shown);
    }
    if (why.full || left.full)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    answer->n_reasons = why.n;
    answer->reasons = why.text;
    answer->n_stays = left.n;
    answer->stays = left.text;
    return EBB_OK;
}
