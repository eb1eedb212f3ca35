/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The picture of `ebb field` while it is made. */
#ifndef EBB_CLI_FIELD_PAINT_H
#define EBB_CLI_FIELD_PAINT_H

#include "field.h"

#define CLI_FIELD_BESIDE 0.3 /* m within which a point does not count as the loudest */

/* A list of points and the values there. */
typedef struct field_spots {
    size_t n;
    ebb_vec3 *at;
    double *value;
} field_spots;

/* The work on one picture. */
typedef struct field_painter {
    cli_run *run;
    const field_task *task;
    const field_result *result;
    size_t mode; /* index: of the rigid modes, or of the damped ones */
    double hz;   /* of what is shown */
    int axis[2]; /* that run in the picture */
    size_t n[2];
    size_t *cell; /* of each spot of the cut, its place in the grid */
    field_spots cut;
    double *imaginary; /* of the pressure at the spots of the cut, whose value is its real part */
    double loudest;
} field_painter;

/* field_values.c */

/* Room for so many points. */
bool cli_field_spots(ebb_arena *arena, size_t most, field_spots *s);
/* Fills p->cut with the mode that p says, -1..1. */
ebb_status cli_field_mode_values(field_painter *p);
/* Fills p->cut, p->imaginary and p->loudest with the pressure asked for. */
ebb_status cli_field_pressure_values(field_painter *p);
/* The largest absolute value. */
double cli_field_largest(const field_spots *s);

#endif
