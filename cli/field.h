/* SPDX-License-Identifier: GPL-3.0-or-later */
/* `ebb field`: what is asked and what came out. */
#ifndef EBB_CLI_FIELD_H
#define EBB_CLI_FIELD_H

#include "cli.h"

#include <ebb/field.h>

/* What was asked. */
typedef struct field_task {
    const char *path; /* of the job */
    const ebb_job *job;
    const ebb_room *room;
    double from, to, step; /* Hz */
    size_t n_hz;
    double *hz;
} field_task;

/* What came out. */
typedef struct field_result {
    ebb_reduced *reduced;
    ebb_modes *modes;
    double _Complex *h; /* [(speaker * n_seats + seat) * n_hz + f], p/Q in Pa s/m3 */
} field_result;

/* field_show.c */
int cli_field_text(cli_run *run, const field_task *task, const field_result *result, int units,
                   const char *out);
int cli_field_json(cli_run *run, const field_task *task, const field_result *result,
                   const char *out);

#endif
