/* SPDX-License-Identifier: GPL-3.0-or-later */
/* json_room.c - one room as JSON: the verdict, then each use before and after. */
#include "json.h"

#include "words.h"

#include <math.h>

/* Without draws there is no share: null, which is not 0. */
static json_t *odds(ebb_report_json_maker *m, const ebb_odds *odds)
{
    const bool drawn = odds->draws > 0;
    json_t *object = json_object();
    ebb_report_json_set(m, object, "draws", ebb_report_json_count(odds->draws));
    ebb_report_json_set(m, object, "share", ebb_report_json_number(drawn ? odds->share : NAN));
    ebb_report_json_set(m, object, "margin_median",
                        ebb_report_json_number(drawn ? odds->margin_median : NAN));
    ebb_report_json_set(m, object, "decider",
                        odds->decider ? ebb_report_json_text(m, odds->decider) : json_null());
    return object;
}

/* How much the starts of the search differed, and what ideal absorbers could do: both say how far
 * the plan is to be trusted as the best. */
static json_t *search(ebb_report_json_maker *m, const ebb_treatment *t)
{
    json_t *object = json_object(), *relaxed = json_object();
    ebb_report_json_set(m, relaxed, "run", json_boolean(t->relaxed_run));
    ebb_report_json_set(m, relaxed, "right",
                        t->relaxed_run ? json_boolean(t->relaxed_right) : json_null());
    ebb_report_json_set(m, relaxed, "wrong",
                        ebb_report_json_number(t->relaxed_run ? t->relaxed_wrong : NAN));
    ebb_report_json_set(m, object, "best_wrong", ebb_report_json_number(t->best_start));
    ebb_report_json_set(m, object, "worst_wrong", ebb_report_json_number(t->worst_start));
    ebb_report_json_set(m, object, "relaxed", relaxed);
    ebb_report_json_set(m, object, "stopper", ebb_report_json_text(m, t->stopper));
    return object;
}

/* A use that was not asked for is null rather than empty. */
static json_t *treatment(ebb_report_json_maker *m, const ebb_answer *answer, const ebb_treatment *t)
{
    if (!t->asked) {
        return json_null();
    }
    json_t *object = json_object();
    ebb_report_json_set(m, object, "odds", odds(m, &t->odds));
    ebb_report_json_set(m, object, "mended_share", ebb_report_json_number(t->mended));
    ebb_report_json_set(m, object, "mended_response", ebb_report_json_number(t->mended_level));
    ebb_report_json_set(m, object, "mended_decay", ebb_report_json_number(t->mended_decay));
    ebb_report_json_set(m, object, "search", search(m, t));
    ebb_report_json_set(m, object, "before", ebb_report_json_case(m, answer, &t->before));
    ebb_report_json_set(m, object, "after", ebb_report_json_case(m, answer, &t->after));
    return object;
}

/* The figures of the shown use, flat, for those who only want the answer. */
static void flat(ebb_report_json_maker *m, json_t *object, const ebb_treatment *t)
{
    const ebb_reading *a = &t->before.reading, *b = &t->after.reading;
    const bool before = a->level != NULL, after = b->level != NULL;
    ebb_report_json_set(m, object, "right_share", ebb_report_json_number(after ? b->inside : NAN));
    ebb_report_json_set(m, object, "wrong_before", ebb_report_json_number(before ? a->wrong : NAN));
    ebb_report_json_set(m, object, "wrong_after", ebb_report_json_number(after ? b->wrong : NAN));
    ebb_report_json_set(m, object, "mended_share", ebb_report_json_number(t->mended));
    ebb_report_json_set(m, object, "mended_response", ebb_report_json_number(t->mended_level));
    ebb_report_json_set(m, object, "mended_decay", ebb_report_json_number(t->mended_decay));
    ebb_report_json_set(m, object, "lowest_right_hz",
                        ebb_report_json_number(after ? b->lowest_right : NAN));
}

/* The answer first, in few flat members; the evidence below it. */
json_t *ebb_report_json_room(ebb_report_json_maker *m, const ebb_answer *answer)
{
    const ebb_treatment *shown = ebb_report_shown(answer);
    const bool drawn = shown->odds.draws > 0;
    json_t *object = json_object();
    ebb_report_json_set(m, object, "name", ebb_report_json_text(m, answer->room->name));
    ebb_report_json_set(m, object, "size_m", ebb_report_json_numbers(m, 3, answer->room->size));
    ebb_report_json_set(m, object, "volume_m3",
                        ebb_report_json_number(ebb_room_volume(answer->room)));
    ebb_report_json_set(m, object, "verdict", json_string(ebb_verdict_name(answer->verdict)));
    ebb_report_json_set(m, object, "sure", ebb_report_json_number(drawn ? answer->sure : NAN));
    ebb_report_json_set(m, object, "near_border", json_boolean(answer->near_border));
    ebb_report_json_set(m, object, "decider",
                        answer->decider ? ebb_report_json_text(m, answer->decider) : json_null());
    ebb_report_json_set(m, object, "margin", ebb_report_json_number(answer->margin));
    ebb_report_json_set(m, object, "shown",
                        answer->shown ? json_string(ebb_report_use(shown->use)) : json_null());
    flat(m, object, shown);
    ebb_report_json_set(m, object, "reasons",
                        ebb_report_json_texts(m, answer->n_reasons, answer->reasons));
    ebb_report_json_set(m, object, "stays",
                        ebb_report_json_texts(m, answer->n_stays, answer->stays));
    ebb_report_json_set(m, object, "plan", ebb_report_json_layout(m, answer, &shown->after.layout));
    ebb_report_json_set(m, object, "faults",
                        ebb_report_json_faults(m, &shown->before.faults, &shown->after.faults));
    ebb_report_json_set(m, object, "music", treatment(m, answer, &answer->music));
    ebb_report_json_set(m, object, "voice", treatment(m, answer, &answer->voice));
    return object;
}
