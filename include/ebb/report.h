/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/report.h - the answer for people (text table, PDF, HTML) and for programs (JSON).
 */
#ifndef EBB_REPORT_H
#define EBB_REPORT_H

#include <ebb/plan.h>

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

/* The cautions shown in every report: constant strings, *n of them. */
EBB_API const char *const *ebb_cautions(size_t *n);

#endif /* !__cplusplus */
#endif
