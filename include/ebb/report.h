/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/report.h - the answer for people (text table, PDF, HTML) and for programs (JSON).
 */
#ifndef EBB_REPORT_H
#define EBB_REPORT_H

#include <ebb/craft.h>
#include <ebb/detail.h>
#include <ebb/plan.h>
#include <ebb/reshape.h>
#include <ebb/unit.h>
#include <ebb/verify.h>

#ifndef __cplusplus

/* Answers of one job, in the order of its rooms. Borrowed. */
typedef struct ebb_answers {
    const ebb_job *job;
    const ebb_effort *effort;
    size_t n;
    const ebb_answer *const *answer;
} ebb_answers;

/* The table and the reasons as plain UTF-8 text for a terminal, in the job's units or those given
 * (units < 0: the job's). *text in arena. */
EBB_API ebb_status ebb_report_text(ebb_ctx *ctx, ebb_arena *arena, const ebb_answers *answers,
                                   int units, const char **text);
/* The JSON document of `ebb judge` (schema: docs/json.md). *text in arena. */
EBB_API ebb_status ebb_report_json(ebb_ctx *ctx, ebb_arena *arena, const ebb_answers *answers,
                                   const char **text);
/* Writes the client report; the same input gives the same bytes. Written beside and renamed. */
EBB_API ebb_status ebb_report_pdf(ebb_ctx *ctx, const ebb_answers *answers, int units,
                                  const char *path);
EBB_API ebb_status ebb_report_html(ebb_ctx *ctx, const ebb_answers *answers, int units,
                                   const char *path);

/* ---- the absorber bench ---------------------------------------------------------------------- */

/* Studies of units, or labels judged, of one library or job file. Borrowed. */
typedef struct ebb_studies {
    const ebb_library *library;
    size_t n;
    const ebb_study *const *study;
} ebb_studies;

typedef struct ebb_claim_checks {
    const ebb_library *library;
    size_t n;
    const ebb_claim_check *const *check;
} ebb_claim_checks;

/* What `ebb unit` prints, without and with --claims: as plain UTF-8 text for a terminal, in the
 * library's units or those given (units < 0: the library's), and as JSON (docs/json.md). *text in
 * arena. */
EBB_API ebb_status ebb_report_studies_text(ebb_ctx *ctx, ebb_arena *arena,
                                           const ebb_studies *studies, int units,
                                           const char **text);
EBB_API ebb_status ebb_report_studies_json(ebb_ctx *ctx, ebb_arena *arena,
                                           const ebb_studies *studies, const char **text);
EBB_API ebb_status ebb_report_claims_text(ebb_ctx *ctx, ebb_arena *arena,
                                          const ebb_claim_checks *checks, int units,
                                          const char **text);
EBB_API ebb_status ebb_report_claims_json(ebb_ctx *ctx, ebb_arena *arena,
                                          const ebb_claim_checks *checks, const char **text);

/* ---- the map over dimensions ----------------------------------------------------------------- */

/* What `ebb reshape` prints, in the job's units or those given (units < 0: the job's), and as JSON
 * (docs/json.md). *text in arena. */
EBB_API ebb_status ebb_reshape_text(ebb_ctx *ctx, ebb_arena *arena, const ebb_reshaped *map,
                                    int units, const char **text);
EBB_API ebb_status ebb_reshape_json(ebb_ctx *ctx, ebb_arena *arena, const ebb_reshaped *map,
                                    const char **text);

/* ---- one plan in detail ---------------------------------------------------------------------- */

/* A plan and how it was looked for. Borrowed. */
typedef struct ebb_plan_papers {
    const ebb_planned *plan;
    const ebb_detail_effort *effort;
    const ebb_verified *verified; /* NULL: it was not to be solved again */
} ebb_plan_papers;

/* What `ebb plan` prints, in the job's units or those given (units < 0: the job's), and as JSON
 * (docs/json.md). *text in arena. */
EBB_API ebb_status ebb_plan_text(ebb_ctx *ctx, ebb_arena *arena, const ebb_plan_papers *papers,
                                 int units, const char **text);
EBB_API ebb_status ebb_plan_json(ebb_ctx *ctx, ebb_arena *arena, const ebb_plan_papers *papers,
                                 const char **text);
/* The plan for client and builder, with working drawings; the same input gives the same bytes.
 * Written beside and renamed. */
EBB_API ebb_status ebb_plan_pdf(ebb_ctx *ctx, const ebb_plan_papers *papers, int units,
                                const char *path);
EBB_API ebb_status ebb_plan_html(ebb_ctx *ctx, const ebb_plan_papers *papers, int units,
                                 const char *path);

/* The cautions shown in every report: constant strings, *n of them. */
EBB_API const char *const *ebb_cautions(size_t *n);

/* ---- the designer ---------------------------------------------------------------------------- */

/* Boxes designed for targets of one library. Borrowed. */
typedef struct ebb_crafts {
    const ebb_library *library;
    size_t n;
    const ebb_craft *const *craft;
} ebb_crafts;

/* What `ebb craft` prints, with build sheets: as text, in the library's units or those given
 * (units < 0: the library's), and as JSON (docs/json.md). *text in arena. */
EBB_API ebb_status ebb_report_crafts_text(ebb_ctx *ctx, ebb_arena *arena, const ebb_crafts *crafts,
                                          int units, const char **text);
EBB_API ebb_status ebb_report_crafts_json(ebb_ctx *ctx, ebb_arena *arena, const ebb_crafts *crafts,
                                          const char **text);
/* The picks that pass as a library file that jobs can use; it holds whatever they are made of that
 * is no preset. *text in arena. */
EBB_API ebb_status ebb_report_crafts_library(ebb_ctx *ctx, ebb_arena *arena,
                                             const ebb_crafts *crafts, const char **text);

#endif /* !__cplusplus */
#endif
