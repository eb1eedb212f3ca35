/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * shape.h - rooms that are no rectangles: from plan, ceiling, columns and bodies to parts of
 * planes, and from these to a closed solid.
 *
 * Every solid here is an upright one: walls, columns and sides of bodies stand plumb, and the
 * ceiling is the lowest of some planes at each place. So all cutting is done in the plane, and
 * heights follow by formula.
 *
 * Functions that may find a fault return NULL, or what is wrong in words (in the arena given);
 * ebb_room_no_memory, which is told by its address, when there is no memory for them.
 */
#ifndef EBB_ROOM_SHAPE_H
#define EBB_ROOM_SHAPE_H

#include <ebb/job.h>

#define EBB_ROOM_FLUSH 2e-3      /* m: what is nearer than this is meant to touch */
#define EBB_ROOM_GAP 0.03        /* m: and what does not touch keeps at least this away */
#define EBB_ROOM_SAME 5e-7       /* m: two points are the same within this */
#define EBB_ROOM_CLEAR 0.05      /* m that seats and speakers keep from every surface */
#define EBB_ROOM_SHORTEST 0.05   /* m, side of a plan */
#define EBB_ROOM_LEAST_WALL 0.1  /* m, height of a ceiling anywhere */
#define EBB_ROOM_MOST_CORNERS 40 /* of a plan or column */
#define EBB_ROOM_MOST_PLANES 16  /* of a ceiling */
#define EBB_ROOM_MOST_COLUMNS 16
#define EBB_ROOM_MOST_BODIES 16

/* A polygon in plan. */
typedef struct ebb_room_outline {
    size_t n;
    double (*corner)[2];
} ebb_room_outline;

/* Height over the plan: at + x x + y y. */
typedef struct ebb_room_plane {
    double at, x, y;
} ebb_room_plane;

typedef struct ebb_room_ceiling {
    size_t n;
    const ebb_room_plane *plane; /* the lowest counts at each place */
} ebb_room_ceiling;

/* Sides of a body; those of its foot carry these names as tags. */
typedef enum ebb_room_side {
    EBB_ROOM_FRONT,
    EBB_ROOM_LEFT,
    EBB_ROOM_RIGHT,
    EBB_ROOM_TOP,
    EBB_ROOM_BOTTOM,
    EBB_ROOM_BACK /* it stands on this one, which is no side of the air */
} ebb_room_side;

/* A body as it is given, and as an upright prism: its foot counter-clockwise seen from above, its
 * lower and upper end. */
typedef struct ebb_room_block {
    const char *name;
    size_t on; /* surface: 0 floor, 1 first ceiling, 2.. walls, then as in ebb_room */
    double at[2], size[2], depth;
    size_t construction; /* of its sides */
    ebb_room_outline foot;
    ebb_room_side *tag; /* of the side of the foot from corner i on */
    ebb_room_side under, over;
    double low, high; /* INFINITY: up to the ceiling */
} ebb_room_block;

/* A whole shape. In job coordinates it is what a room was made from, and is kept with it; for
 * cutting it is moved into room coordinates. */
struct ebb_room_shape {
    ebb_room_outline plan;
    size_t n_columns;
    ebb_room_outline *column;
    ebb_room_ceiling ceiling;
    size_t n_blocks;
    ebb_room_block *block;
};
typedef struct ebb_room_shape ebb_room_shape;

extern const char ebb_room_no_memory[];
const char *ebb_room_say(ebb_arena *arena, const char *format, ...) EBB_PRINTF(2, 3);

/* ---- outlines (outline.c) -------------------------------------------------------------------- */

/* Twice the area, positive counter-clockwise. */
double ebb_room_outline_turn(const ebb_room_outline *outline);
/* Do the lines a-b and c-d have a point in common? Then *at is one. */
bool ebb_room_lines_meet(const double a[2], const double b[2], const double c[2], const double d[2],
                         double at[2]);
/* What is wrong with the corners of a plan or column; sides are called "side 2" and so on. */
const char *ebb_room_outline_fault(ebb_arena *arena, const ebb_room_outline *outline);
/* Columns must lie in the plan and apart; *which is the column. */
const char *ebb_room_columns_fault(ebb_arena *arena, const ebb_room_shape *shape, size_t *which);
/* Is a point inside? Points on the outline are anything. */
bool ebb_room_outline_holds(const ebb_room_outline *outline, const double at[2]);
/* Smallest distance of two outlines' sides, 0 where they cross. */
double ebb_room_outlines_apart(const ebb_room_outline *a, const ebb_room_outline *b);
/* Side i of the plan, or of the columns one after another: everything that stands upright and is
 * not part of a body. */
typedef struct ebb_room_upright {
    const double *from, *to;
    size_t column, side; /* column 0: the plan; both from 0, columns from 1 */
} ebb_room_upright;
size_t ebb_room_uprights(const ebb_room_shape *shape);
ebb_room_upright ebb_room_upright_of(const ebb_room_shape *shape, size_t i);

/* ---- ceilings (ceiling.c) -------------------------------------------------------------------- */

double ebb_room_plane_height(const ebb_room_plane *plane, const double at[2]);
double ebb_room_ceiling_height(const ebb_room_ceiling *ceiling, const double at[2]);
/* Where the lowest plane changes on the way from a to b: fills t[0..n), rising, between 0 and 1,
 * without the ends; returns n, at most EBB_ROOM_MOST_PLANES. */
size_t ebb_room_ceiling_breaks(const ebb_room_ceiling *ceiling, const double a[2],
                               const double b[2], double t[EBB_ROOM_MOST_PLANES]);
/* Lowest and highest over a convex outline. */
void ebb_room_ceiling_range(const ebb_room_ceiling *ceiling, const ebb_room_outline *foot,
                            double range[2]);
bool ebb_room_plane_is_level(const ebb_room_plane *plane);
/* Planes from what the job gives; NULL or what is wrong. */
const char *ebb_room_plane_through(ebb_arena *arena, double point[3][3], ebb_room_plane *plane);
const char *ebb_room_plane_of_heights(ebb_arena *arena, const ebb_room_outline *plan,
                                      const double *height, ebb_room_plane *plane);
const char *ebb_room_planes_of_ridge(ebb_arena *arena, const ebb_room_outline *plan, double eaves,
                                     const double ridge[5], ebb_room_plane plane[2], size_t *n);
/* Is the ceiling high enough over all of the plan? */
const char *ebb_room_ceiling_fault(ebb_arena *arena, const ebb_room_shape *shape);

/* ---- regions of a plane (region.c) ----------------------------------------------------------- */

typedef struct ebb_room_ring {
    size_t n;
    double (*point)[2];
    bool hole; /* of the ring before it that is none */
} ebb_room_ring;

typedef struct ebb_room_region {
    size_t n;
    const ebb_room_ring *ring;
} ebb_room_region;

typedef struct ebb_room_cutter ebb_room_cutter;
/* New; NULL when out of memory. Regions are borrowed from the arena. */
ebb_room_cutter *ebb_room_cutter_new(ebb_arena *arena);
void ebb_room_cutter_free(ebb_room_cutter *cutter);
/* What went wrong so far, NULL: nothing. Regions are empty after a failure. */
const char *ebb_room_cutter_fault(const ebb_room_cutter *cutter);

/* All of an outline; NULL stands for one there was no memory for. */
ebb_room_region ebb_room_region_of(ebb_room_cutter *cutter, const ebb_room_outline *outline);
ebb_room_region ebb_room_region_without(ebb_room_cutter *cutter, const ebb_room_region *region,
                                        const ebb_room_region *with);
ebb_room_region ebb_room_region_within(ebb_room_cutter *cutter, const ebb_room_region *region,
                                       const ebb_room_region *with);
/* The part where one plane is not above the other. */
ebb_room_region ebb_room_region_below(ebb_room_cutter *cutter, const ebb_room_region *region,
                                      const ebb_room_plane *plane, const ebb_room_plane *other);
double ebb_room_region_area(const ebb_room_region *region);

/* ---- bodies (block.c, foot.c) ---------------------------------------------------------------- */

/* Makes the prism of a body from how it is given, flush where it is meant to be; NULL or what is
 * wrong. Bodies before it in shape->block are done already. */
const char *ebb_room_block_build(ebb_room_cutter *cutter, ebb_arena *arena,
                                 const ebb_room_shape *shape, size_t i);
/* Moves corners of a foot that nearly touch an upright onto it, and puts corners of uprights that
 * lie on its sides among its own. False: no memory. */
bool ebb_room_foot_fit(ebb_arena *arena, const ebb_room_shape *shape, ebb_room_block *block);
/* The upright that the side from corner i on lies on, or (size_t)-1. */
size_t ebb_room_foot_upright(const ebb_room_shape *shape, const ebb_room_outline *foot, size_t i);
/* What is wrong with where a foot stands; NULL: nothing. */
const char *ebb_room_foot_fault(ebb_room_cutter *cutter, ebb_arena *arena,
                                const ebb_room_shape *shape, const ebb_room_block *block);

/* ---- parts of planes (part.c, part_body.c) --------------------------------------------------- */

typedef struct ebb_room_loop {
    size_t n;
    ebb_vec3 *point;
    bool hole;
    size_t *corner; /* of the solid, once it is stitched */
} ebb_room_loop;

/* A surface in the making. */
typedef struct ebb_room_part {
    char name[24];
    ebb_vec3 normal; /* out of the room */
    ebb_vec3 from;   /* of a wall: its first corner; else unused */
    bool wall;
    size_t block, side; /* of bodies, else (size_t)-1 */
    size_t n_loops;
    ebb_room_loop *loop;
} ebb_room_part;

typedef struct ebb_room_parts {
    size_t n;
    ebb_room_part *part;
} ebb_room_parts;

/* The uprights, floor, ceilings and bodies' sides as parts, in the order of the surfaces. The
 * shape is in room coordinates. */
const char *ebb_room_parts_build(ebb_room_cutter *cutter, ebb_arena *arena,
                                 const ebb_room_shape *shape, ebb_room_parts *parts);
bool ebb_room_parts_of_bodies(ebb_room_cutter *cutter, ebb_arena *arena,
                              const ebb_room_shape *shape, ebb_room_parts *parts);
/* Area of a loop times its normal, by the way it turns. */
ebb_vec3 ebb_room_loop_area(const ebb_room_loop *loop);
/* Adds a region to a part: flat ones at the height of a plane over the plan, upright ones with
 * points (metres from a towards b, height). False: no memory. */
bool ebb_room_part_lift(ebb_arena *arena, ebb_room_part *part, const ebb_room_region *region,
                        const ebb_room_plane *plane);
bool ebb_room_part_raise(ebb_arena *arena, ebb_room_part *part, const ebb_room_region *region,
                         const double a[2], const double b[2]);
/* What lies between floor and ceiling over the line from a to b, in the same coordinates. */
ebb_room_region ebb_room_region_over(ebb_room_cutter *cutter, ebb_arena *arena,
                                     const ebb_room_ceiling *ceiling, const double a[2],
                                     const double b[2]);

/* Is each plane the lowest somewhere? */
const char *ebb_room_planes_fault(ebb_room_cutter *cutter, ebb_arena *arena,
                                  const ebb_room_shape *shape);
/* Name of surface i of a shape without its bodies; false when there are no so many. */
bool ebb_room_bare_name(const ebb_room_shape *shape, size_t i, char name[24]);

/* ---- places in a solid (solid.c, crate.c) ---------------------------------------------------- */

/* Distance from the nearest facet, and the surface that is part of. */
double ebb_room_clearance(const ebb_solid *solid, ebb_vec3 at, size_t *surface);

/* A box anywhere: its corner and its three edges, at right angles. */
typedef struct ebb_room_crate {
    ebb_vec3 corner, edge[3];
} ebb_room_crate;

/* The box on a rectangle of a surface that reaches `depth` into the room, job coordinates. */
ebb_room_crate ebb_room_crate_on(const ebb_surface *surface, const double at[2],
                                 const double size[2], double depth);
/* Do two share more than 1 mm in every direction? */
bool ebb_room_crates_overlap(const ebb_room_crate *a, const ebb_room_crate *b);
bool ebb_room_crate_holds(const ebb_room_crate *crate, ebb_vec3 at);
/* Is a box (room coordinates) in the air with all but its outermost millimetre? *surface is one
 * that cuts it. */
bool ebb_room_crate_is_free(const ebb_solid *solid, const ebb_room_crate *crate, size_t *surface);

/* ---- the solid and the surfaces (stitch.c, trace.c, frame.c, box.c, shape.c) ----------------- */

typedef struct ebb_room_corners {
    size_t n;
    ebb_vec3 *at;
} ebb_room_corners;

/* Joins the parts at their corners, whose loops then run along them all. The solid is in `keep`;
 * NULL when out of memory. */
ebb_solid *ebb_room_stitch(ebb_arena *keep, ebb_arena *arena, ebb_room_parts *parts);
/* Makes the loops of a part from the ways between corners that they run along. False: no memory. */
bool ebb_room_trace(ebb_arena *arena, const ebb_room_corners *all, size_t (*way)[2], size_t n,
                    ebb_room_part *part);
/* Frame and outline of a surface, job coordinates. False: no memory. */
bool ebb_room_frame(ebb_arena *keep, const ebb_room_part *part, ebb_vec3 origin,
                    ebb_surface *surface);

/* A shape that is a rectangle along x and y under a level ceiling, with nothing in it. */
bool ebb_room_is_box(const ebb_room_shape *shape);
/* Origin, size and surfaces of such a room. False: no memory. */
bool ebb_room_box_build(ebb_arena *keep, const ebb_room_shape *shape, ebb_room *room);
/* The shape of a room that is one. NULL: no memory. */
ebb_room_shape *ebb_room_box_shape(ebb_arena *keep, const ebb_room *room);

/* How making a room went. Not EBB_OK: *why in words, and what it is about. */
typedef enum ebb_room_about {
    EBB_ROOM_ABOUT_PLAN,
    EBB_ROOM_ABOUT_CEILING,
    EBB_ROOM_ABOUT_COLUMN, /* `which` */
    EBB_ROOM_ABOUT_BODY,   /* `which` */
    EBB_ROOM_ABOUT_ALL
} ebb_room_about;

typedef struct ebb_room_outcome {
    ebb_status status;
    const char *why;
    ebb_room_about about;
    size_t which;
} ebb_room_outcome;

/* Fills origin, size, plan, solid, surfaces and bodies of a room from a shape in job coordinates,
 * which must live as long as the room. Constructions are left to the caller; messages are in
 * `arena`. */
ebb_room_outcome ebb_room_shape_build(ebb_arena *keep, ebb_arena *arena, ebb_room_shape *shape,
                                      ebb_room *room);

#endif
