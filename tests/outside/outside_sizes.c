/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Common practice (no source): below some size even full treatment mends about half of the faults
 * and the answer is no; then come rooms good for voice only; then rooms that can be right for
 * music. Here its trend, on a few rooms of the sweep and with little effort; docs/room-sizes.md has
 * the whole. What the practice says of "half" depends on how one counts, so only an upper bound is
 * held.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../../bench/sizes.h"
#include "outside.h"

#include <ebb/ebb.h>

#include <string.h>

#define PRACTICE "common practice, no source"

typedef struct outcome {
    ebb_verdict verdict;
    double music, mended, wrong, decay;
} outcome;

static outcome judged(double volume, const char *wall, double cover)
{
    char text[4096];
    ebb_effort effort;
    ebb_ctx *ctx = ebb_ctx_new();
    ebb_job *job = NULL;
    ebb_answer *answer = NULL;
    ebb_effort_default(&effort);
    effort.starts = 2;
    effort.swaps = 1;
    effort.draws = 8;
    effort.relaxed = false;
    sizes_job(text, sizeof text, volume, wall, cover);
    ebb_status status = ebb_job_parse(ctx, text, strlen(text), "sweep", NULL, &job);
    if (status == EBB_OK)
        status = ebb_answer_room(ctx, job, 0, &effort, &answer);
    if (status != EBB_OK)
        fail_msg("%g m3: %s", volume, ebb_ctx_message(ctx, 0)->text);
    const ebb_treatment *m = &answer->music;
    const outcome out = {answer->verdict, m->odds.share, m->mended, m->after.reading.wrong,
                         m->after.reading.worst_decay};
    ebb_answer_free(answer);
    ebb_job_free(job);
    ebb_ctx_free(ctx);
    return out;
}

static const char *yes(bool fact)
{
    return fact ? "yes" : "no";
}

static void the_smallest_room_stays_wrong(void **state)
{
    (void)state;
    static const char *const wall[2] = {"stud-wall", "brick"};
    for (int w = 0; w < 2; w++) {
        const outcome out = judged(8, wall[w], 0.6);
        char what[2][80];
        snprintf(what[0], sizeof what[0], "verdict on 8 m3, %s, 60 %% of cover", wall[w]);
        snprintf(what[1], sizeof what[1], "share mended in 8 m3, %s, 60 %% of cover", wall[w]);
        outside_fact(what[0], PRACTICE, "no", ebb_verdict_name(out.verdict));
        outside_below(what[1], PRACTICE ": about half", 0.65, out.mended);
    }
}

static void little_cover_leaves_large_rooms_ringing(void **state)
{
    (void)state;
    const outcome out = judged(80, "brick", 0.15);
    outside_fact("80 m3 of brick, 15 % of cover: the slowest decay is beyond 1.25 times its limit",
                 PRACTICE, "yes", yes(out.decay > 1.25));
    outside_below("its share of draws right for music", PRACTICE, 0, out.music);
}

static void size_and_cover_mend(void **state)
{
    (void)state;
    const outcome small = judged(8, "stud-wall", 0.6), middle = judged(27, "stud-wall", 0.6);
    const outcome large = judged(150, "stud-wall", 0.6), bare = judged(27, "stud-wall", 0.15);
    outside_fact("at 60 % of cover 27 m3 is left with less wrong than 8 m3", PRACTICE, "yes",
                 yes(middle.wrong < small.wrong));
    outside_fact("in 27 m3 60 % of cover mends more than 15 %", PRACTICE, "yes",
                 yes(middle.mended > bare.mended + 0.1));
    outside_fact("music is nearer in 150 m3 than in 8 m3, at 60 % of cover", PRACTICE, "yes",
                 yes(large.music > small.music));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_smallest_room_stays_wrong),
        cmocka_unit_test(little_cover_leaves_large_rooms_ringing),
        cmocka_unit_test(size_and_cover_mend),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
