/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/cabinet.h - a box with moving fronts: panels that bend on a compliant rim, cells side by
 * side, fill, leaks, walls that give way.
 *
 * The box is a network of acoustic admittances (volume velocity over pressure, m3/(s Pa)) between
 * nodes: the room face, the gap between two fronts, the cavity behind them. Everything is
 * referred to the OUTER face of the box, width times height.
 *
 * What gives way: the back, at the far end of the cavity, and the outer walls along the cavity,
 * half of them at either end of it, each nearly clamped between braces. Boards between cells and
 * the walls of a gap between two fronts stand still. The slit of the outer front joins the room to
 * the space behind that front. A box is computed as one-dimensional in depth.
 */
#ifndef EBB_CABINET_H
#define EBB_CABINET_H

#include <ebb/arena.h>
#include <ebb/layers.h>

#ifndef __cplusplus

/* A board of a material. */
typedef struct ebb_board {
    const char *name; /* of the material, "" when not named */
    double thickness; /* m */
    double density;   /* kg/m3 */
    double modulus;   /* Pa */
    double poisson;   /* 0..0.49 */
    double loss;      /* loss factor in bending */
} ebb_board;

/* The compliant rim of a front, per metre of its length. */
typedef struct ebb_mount {
    double stiffness; /* N/m per m, across the front */
    double rotation;  /* N m/rad per m, 0 free to turn */
    double loss;      /* loss factor */
} ebb_mount;

/*
 * Stiffness of a rim made of a strip, N/m per m. A free strip between front and frame works in
 * bending, guided at both ends: E t^3/b^3 with thickness t and free width b. A strip pressed
 * between front and frame works in compression: E w/t, width w, thickness t. (Beam theory; the
 * modulus of rubbers and foams scatters by tens of per cent.)
 */
EBB_API double ebb_mount_bending(double modulus, double thickness, double free_width);
EBB_API double ebb_mount_pressed(double modulus, double thickness, double width);

/*
 * A rectangular panel on a compliant rim, ready for use: mean velocity per pressure difference
 *
 *   y(w) = sum over modes share_n j w/(m (lambda_n - w^2)),  sum of share_n = 1,
 *
 * from the Ritz method with even Legendre products (an even pressure drives no other modes);
 * lambda_n and share_n are complex because the loss factors of panel and rim differ. Plain data.
 */
struct ebb_plate {
    double side[2]; /* m */
    double mass;    /* kg/m2 */
    size_t n;
    const double _Complex *lambda; /* (rad/s)^2, rising real part */
    const double _Complex *share;
    const double _Complex *middle; /* share for the velocity at the centre: y_centre = sum of
                                    * middle_n j w/(m (lambda_n - w^2)) */
};

/* Solves a panel of sides side[0] x side[1] m (board->thickness > 0) with extra mass per area
 * `added` (kg/m2, limp, glued on) on a rim; `order` even functions per side, 1..10; 8 or more
 * when the third symmetric mode matters. *plate in arena. EBB_E_RANGE, EBB_E_NUMERIC. */
EBB_API ebb_status ebb_plate_make(ebb_ctx *ctx, ebb_arena *arena, const double side[2],
                                  const ebb_board *board, double added, const ebb_mount *mount,
                                  size_t order, ebb_plate **plate);

/* Mean velocity, and velocity at the centre, per pressure difference, m/(s Pa), at complex omega
 * (rad/s); all stiffnesses times `stiffness`. */
EBB_API double _Complex ebb_plate_mobility(const ebb_plate *plate, double stiffness,
                                           double _Complex omega);
EBB_API double _Complex ebb_plate_centre(const ebb_plate *plate, double stiffness,
                                         double _Complex omega);

/* A moving front of a cell. */
typedef struct ebb_front {
    ebb_board board; /* thickness 0: only `mass` is known, and it moves as one */
    double mass;     /* kg/m2 on top of the board's own, or the whole when there is no board */
    bool bends;      /* the board bends as well as moving on its rim */
    ebb_mount mount;
    double resistance;      /* Pa s/m, extra viscous resistance */
    const ebb_plate *plate; /* made by ebb_cabinet_prepare when it bends, else NULL */
} ebb_front;

#define EBB_FRONTS 2 /* fronts one behind the other */

/* A cell: one shaft of the box with fronts of its own. */
typedef struct ebb_cell {
    double share; /* of the inner width, 0..1; all cells together 1 */
    size_t n_fronts;
    ebb_front front[EBB_FRONTS]; /* outer first */
    double gap;                  /* m, free depth between the two fronts */
    size_t n_between;            /* fluid layers in the gap, from the outer front inwards; */
    const ebb_layer *between;    /* what is left of the gap is air, next to the outer front */
    size_t n_fill;               /* fluid layers behind the last front, from it inwards; what is */
    const ebb_layer *fill;       /* left of the depth is air, between the front and the fill */
    double leak;                 /* m, width of the slit around the outer front, 0 sealed */
    double leak_path;            /* m, its depth */
} ebb_cell;

/* A box. */
struct ebb_cabinet {
    double size[3];  /* m, outer: width, height, depth */
    ebb_board wall;  /* sides, back, dividers between cells; thickness > 0 */
    bool rigid;      /* walls do not give way (their thickness and weight still count) */
    int brace[2];    /* braces across the back and the long walls: spans along width and height are
                      * cut into brace + 1; a brace weighs as a batten of the board, 50 mm deep */
    bool built_in;   /* walls move against something that stands still; false: they join the cavity
                      * to the room, as the leak does in any case */
    double rim;      /* m, width of the frame around each front, taken off the opening */
    double frame;    /* kg, frames and rims */
    double extra;    /* kg, fixings and cloth */
    double air_loss; /* loss factor of the air's compression in the box, 0.005 to 0.01 usual */
    size_t n_cells;
    ebb_cell *cell;
    const ebb_plate *const *wall_plate; /* made by ebb_cabinet_prepare unless rigid: 3 for each
                                         * cell, one board of the back, of the sides (NULL for a
                                         * cell without an outer side), of top and bottom */
};

/* Checks that it can be built: ranges, fronts and gap and fill fit into the depth, shares add up.
 * EBB_E_RANGE with a text naming cell, part, what was found and what is accepted. */
EBB_API ebb_status ebb_cabinet_check(ebb_ctx *ctx, const ebb_cabinet *cabinet);

/* Checks and makes the plates of fronts that bend and of walls; `order` as in ebb_plate_make, 0 =
 * 8. What it makes lives in arena and is put into *cabinet. Needed before any use below; needed
 * again after sizes, boards or mounts change. */
EBB_API ebb_status ebb_cabinet_prepare(ebb_ctx *ctx, ebb_arena *arena, size_t order,
                                       ebb_cabinet *cabinet);

/* Opening of a cell, m: width and height inside walls, dividers and rims. */
EBB_API void ebb_cabinet_opening(const ebb_cabinet *cabinet, size_t cell, double side[2]);
/* Depth of a cell's cavity behind its last front, m. */
EBB_API double ebb_cabinet_cavity(const ebb_cabinet *cabinet, size_t cell);

/* Normalised admittance rho c/Z referred to the outer face, as ebb_assembly_beta. */
EBB_API double _Complex ebb_cabinet_beta(const ebb_cabinet *cabinet, const ebb_air *air,
                                         const ebb_variation *vary, double _Complex omega);

/* What moves in a cell, for 1 Pa at the face of the whole box. */
typedef struct ebb_motion {
    double _Complex velocity[EBB_FRONTS]; /* m/(s Pa), mean over each front, into the box */
    double _Complex centre[EBB_FRONTS];   /* the same at its centre */
    double _Complex pressure[EBB_FRONTS]; /* Pa/Pa behind each front */
    double _Complex leak;                 /* m3/(s Pa) from the room through the slit, and through
                                           * the walls unless built in */
} ebb_motion;
EBB_API void ebb_cabinet_motion(const ebb_cabinet *cabinet, size_t cell, const ebb_air *air,
                                const ebb_variation *vary, double _Complex omega,
                                ebb_motion *motion);

/* Where the weight is, kg. */
typedef struct ebb_weights {
    double walls, fronts, frame, porous, grains, extra, total;
} ebb_weights;
EBB_API void ebb_cabinet_weights(const ebb_cabinet *cabinet, ebb_weights *weights);

/*
 * Static compliance lim w->0 of 1/(j w Z), m/Pa, referred to the outer face: what the depth limit
 * of passive absorbers knows of a box (ebb/bounds.h). `hz` > 0: with the moduli of grains at that
 * frequency (their equilibrium uptake is spent below the audible band); 0: the true static value.
 * Leaks and walls that join the cavity to the room are left out.
 */
EBB_API double ebb_cabinet_compliance(const ebb_cabinet *cabinet, const ebb_air *air, double hz);

#endif /* !__cplusplus */
#endif
