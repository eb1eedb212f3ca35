/* SPDX-License-Identifier: GPL-3.0-or-later */
/* `ebb field`: what is asked and what came out. */
#ifndef EBB_CLI_FIELD_H
#define EBB_CLI_FIELD_H

#include "cli.h"

#include <ebb/field.h>

/* What a picture shows. */
typedef enum field_shown { FIELD_RIGID_MODE, FIELD_DAMPED_MODE, FIELD_PRESSURE } field_shown;

/* The picture that is asked for beside the numbers. */
typedef struct field_picture {
    const char *file; /* NULL: none */
    field_shown shown;
    size_t mode;     /* number of the rigid-wall mode */
    double hz;       /* near which the damped mode lies, or of the pressure */
    size_t first, n; /* speakers that sound, once the room is known */
    int axis;        /* that the cut holds; -1 until the room is known and none was given */
    double at;       /* m from the room's lower corner */
} field_picture;

/* The impulse responses that are asked for beside the numbers. */
typedef struct field_impulse {
    const char *file;                                /* NULL: none */
    bool wave;                                       /* for listening, else a table */
    const char *seat;                                /* NULL: all of them */
    size_t speaker, n_speakers, first_seat, n_seats; /* once the room is known */
} field_impulse;

/* What was asked. */
typedef struct field_task {
    const char *path; /* of the job */
    const ebb_job *job;
    const ebb_room *room;
    size_t index;          /* of the room in the job */
    double from, to, step; /* Hz */
    size_t n_hz;
    double *hz;
    ebb_units units;
    const char *speaker; /* NULL: all of them */
    field_picture picture;
    field_impulse impulse;
} field_task;

/* What came out. */
typedef struct field_result {
    ebb_prepared *prepared;
    ebb_reduced *reduced;
    ebb_state state; /* of the room as it stands; borrows from the run */
    ebb_modes *modes;
    double _Complex *h; /* [(speaker * n_seats + seat) * n_hz + f], p/Q in Pa s/m3 */
    ebb_impulse_wish wish;
    ebb_impulses impulses;
    double full_scale; /* Pa s/m3 that 1.0 in the sound file stands for */
} field_result;

/* field_show.c */
int cli_field_text(cli_run *run, const field_task *task, const field_result *result,
                   const char *out);
int cli_field_json(cli_run *run, const field_task *task, const field_result *result,
                   const char *out);

/* field_ask.c: the picture asked for. First what the command line alone can be wrong in; then, once
 * the room is known, where the cut lies and who sounds. */
int cli_field_ask(cli_run *run, const cli_given *given, field_task *task);
int cli_field_place(cli_run *run, field_task *task);

/* One station of a kind by its name, or all of them for NULL: their first and number. */
int cli_field_station(cli_run *run, const field_task *task, bool seat, const char *name,
                      size_t chosen[2]);

/* field_impulse.c: impulse responses asked for, placed as above, calculated and written, and told
 * of. */
int cli_field_impulse_ask(cli_run *run, const cli_given *given, field_task *task);
int cli_field_impulse_place(cli_run *run, field_task *task);
int cli_field_impulse(cli_run *run, const field_task *task, field_result *result);
void cli_field_impulse_text(FILE *to, const field_task *task, const field_result *result);
json_t *cli_field_impulse_json(const field_task *task, const field_result *result);

/* field_picture.c */
int cli_field_picture(cli_run *run, const field_task *task, const field_result *result);

#endif
