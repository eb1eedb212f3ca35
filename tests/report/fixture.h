/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * fixture.h - a job and its answers filled in by hand, so that drawings and reports can be tested
 * without the engine.
 *
 * EVERY NUMBER HERE IS MADE UP. Levels and decays follow simple formulas that look like a room;
 * nothing was calculated by the wave engine and nothing was measured.
 */
#ifndef TESTS_FIXTURE_H
#define TESTS_FIXTURE_H

#include <ebb/report.h>

enum { FIXTURE_ROOMS = 3 };

typedef struct fixture {
    ebb_ctx *ctx;
    ebb_arena *arena;
    ebb_job job;
    ebb_effort effort;
    ebb_answer answer[FIXTURE_ROOMS]; /* music, voice, no: in this order */
    const ebb_answer *list[FIXTURE_ROOMS];
    ebb_answers answers;
} fixture;

/* A new context and the three invented rooms. Exits the process when memory runs out. */
void fixture_open(fixture *f);
void fixture_close(fixture *f);

/* Makes every name and text of the job long, empty, broken or hostile. */
void fixture_nasty(fixture *f);
/* Takes away what an answer may lack: shown treatment, modes, layouts, reasons. */
void fixture_bare(fixture *f);

/* A text that must never reach a page as markup or a terminal as control codes. */
extern const char FIXTURE_HOSTILE[];

#endif
