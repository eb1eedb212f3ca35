/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/job.h - the job: one client brief, read from a YAML file into plain SI structs.
 *
 * Coordinates: x, y along the floor, z up, in the job's own origin; plan corners run
 * counter-clockwise seen from above. Surface 0 is the floor, 1 the (first) ceiling, 2 + i
 * wall_(i+1) from plan corner i to i+1; then come further ceilings and the sides of columns and
 * bodies. A point on a surface is
 * (along, up): on walls metres from the wall's first corner and from the floor, on floor and level
 * ceiling (x, y) from the job's origin, on a sloping ceiling metres along its level direction and
 * up its slope, from its lowest corner.
 */
#ifndef EBB_JOB_H
#define EBB_JOB_H

#include <ebb/arena.h>
#include <ebb/layers.h>
#include <ebb/quantity.h>
#include <ebb/solid.h>

#ifndef __cplusplus

#define EBB_OCTAVES 6 /* 125, 250, 500, 1000, 2000, 4000 Hz */
#define EBB_FACES 6   /* surfaces of a rectangular room */
#define EBB_MOST_SURFACES 64

typedef enum ebb_use { EBB_USE_MUSIC, EBB_USE_VOICE } ebb_use;

/* What a surface is made of. */
typedef struct ebb_construction {
    const char *name;
    const char *source; /* where the values come from, "" when the job says nothing */
    ebb_assembly assembly;
    double alpha[EBB_OCTAVES]; /* random-incidence absorption per octave; NAN = from the assembly */
    bool preset;               /* from the project's own list, not from the job file */
} ebb_construction;

/* What a part of a unit was taken from by name: the material of a panel, a wool, a batch of grains,
 * a strip. (Boards of cabinets carry the name of their material themselves.) */
typedef struct ebb_origin {
    const void *part; /* the ebb_layer or ebb_mount, by its address in the unit's assembly */
    const char *name;
    bool measured; /* grains: their values come from a test of the batch */
} ebb_origin;

/* One buildable absorber. */
typedef struct ebb_unit {
    const char *name;
    const char *from; /* library file it was taken from, "" when the file gives it itself */
    double face[2];   /* m: width (along), height (up) as drawn; may be turned by 90 degrees */
    double depth;     /* m, outer depth measured from the wall */
    double mass;      /* kg, complete */
    bool weighed;     /* mass is as given; false: computed from the parts of a cabinet */
    double cost;      /* in the job's money, 0 when not given */
    bool piston;      /* one front with one velocity; false: locally reacting at every point */
    bool on_walls, on_ceiling; /* where it may hang */
    ebb_assembly assembly;     /* referred to the outer face */
    double alpha[EBB_OCTAVES]; /* as in ebb_construction */
    size_t n_origins;
    const ebb_origin *origins; /* of the parts that were given by name */
} ebb_unit;

typedef enum ebb_opening_kind {
    EBB_OPENING_DOOR,
    EBB_OPENING_WINDOW,
    EBB_OPENING_VENT
} ebb_opening_kind;

/* A door, window or vent: a patch of another construction that must stay free. */
typedef struct ebb_opening {
    ebb_opening_kind kind;
    size_t surface;
    double at[2];        /* lower near corner on the surface, m */
    double size[2];      /* along, up, m */
    size_t construction; /* index into job->constructions */
} ebb_opening;

/* A seat (receiver) or speaker (source). It may be moved anywhere within `zone` metres of `at` in
 * the horizontal plane; 0 = fixed. */
typedef struct ebb_station {
    const char *name;
    ebb_vec3 at;
    double zone;
} ebb_station;

/* A unit on a surface. */
typedef struct ebb_placed {
    size_t unit; /* index into job->units */
    size_t surface;
    double at[2]; /* lower near corner of its face on the surface, m */
    bool turned;  /* face rotated by 90 degrees: width runs up */
} ebb_placed;

/* Part of a plane, bounded by straight lines, with its own frame. */
typedef struct ebb_surface {
    char name[24];       /* "floor", "ceiling", "wall_1", "ceiling_2", "body_1_front" ... */
    size_t construction; /* index into job->constructions */
    ebb_vec3 origin;     /* the point (along, up) = (0, 0), job coordinates */
    ebb_vec3 along, up;  /* orthogonal unit vectors */
    ebb_vec3 normal;     /* unit vector out of the room */
    double range[2][2];  /* box around it: along from range[0][0] to [0][1], up from range[1][0] to
                            [1][1] */
    /* Of a surface that is not the whole rectangle `range` (n_loops 0): its outline in (along, up),
     * loops one after another; outer loops counter-clockwise seen from inside the room, holes the
     * other way round. A wall that a body divides has several outer loops. */
    size_t n_loops;
    const size_t *loop; /* [n_loops] points in each */
    const double (*point)[2];
    double cut_area; /* m2 within the loops */
    int axis;        /* rectangular rooms: normal axis 0 x, 1 y, 2 z; -1 in other rooms */
    int side;        /* 0: at the lower coordinate, 1: at the upper */
} ebb_surface;

/* A solid thing that takes room: a chimney breast, a built-in cupboard, a beam. It stands on a
 * surface like a unit and its free sides are surfaces of the room. */
typedef struct ebb_body {
    const char *name;
    size_t surface;          /* that it stands on */
    double at[2], size[2];   /* on that surface, m */
    double depth;            /* m, into the room */
    size_t n_sides, side[5]; /* indices of the surfaces that its free sides are */
} ebb_body;

typedef struct ebb_space ebb_space; /* see ebb/space.h */
struct ebb_room_shape;              /* what a shaped room was made from, for ebb_room_moved */

/* A wall or level ceiling that could be moved along its normal, outwards positive. */
typedef struct ebb_movable {
    size_t surface;
    double by[2]; /* m, from (inwards: negative) and to */
} ebb_movable;

/* A candidate room. Rectangular unless `shaped`: plan sides along x and y, six surfaces that have
 * axis and side, no mesh needed. A shaped room has a solid, and needs a space before the wave
 * engine can answer. */
typedef struct ebb_room {
    const char *name;
    ebb_vec3 origin; /* lower corner of the box around the room, job coordinates */
    double size[3];  /* m, of that box, along x, y, z */
    bool shaped;
    const ebb_solid *solid; /* shaped: the air, room coordinates; facets name surfaces */
    const struct ebb_room_shape *shape; /* shaped: private */
    const ebb_space *space; /* shaped: borrowed, set by whoever prepares the job; NULL until then */
    size_t n_plan;          /* shaped: corners of the plan's outline */
    const double (*plan)[2]; /* job coordinates, counter-clockwise */
    size_t n_surfaces;       /* 0 floor, 1 (first) ceiling, 2.. walls, further ceilings, sides of
                              * columns, sides of bodies */
    ebb_surface *surfaces;
    size_t n_bodies;
    ebb_body *bodies;
    size_t n_openings;
    ebb_opening *openings;
    size_t n_seats;
    ebb_station *seats;
    size_t n_speakers;
    ebb_station *speakers;
    size_t n_placed; /* units that are there already and stay */
    ebb_placed *placed;
    double may_change[3][2]; /* smallest and largest length along x, y, z; NAN = fixed */
    size_t n_moves;
    ebb_movable *moves;
    int line; /* of the room in the job file, for messages */
} ebb_room;

/* What may be spent. INFINITY where the job sets no limit. */
typedef struct ebb_allowance {
    double mass;  /* kg in all */
    double cover; /* share of walls and ceiling, 0..1 */
    double depth; /* m, largest depth of a unit */
    double cost;
    double count; /* number of units */
    double floor; /* Pa, extra load spread over the floor */
} ebb_allowance;

/* A limit overridden by the job; see ebb/limits.h for the keys. */
typedef struct ebb_override {
    size_t limit; /* index in the table of limits */
    double value;
} ebb_override;

/* The job. Owns everything it points to. */
typedef struct ebb_job {
    ebb_arena *arena;
    const char *file; /* name as given */
    const char *name;
    const char *note; /* free text shown in reports, "" when absent */
    ebb_use use;
    double lowest; /* Hz, lowest frequency that matters */
    ebb_units units;
    ebb_air air;
    ebb_allowance allowance;
    size_t n_constructions; /* those of the job first, then the presets it uses */
    ebb_construction *constructions;
    size_t n_units;
    ebb_unit *absorbers;
    size_t n_rooms;
    ebb_room *rooms;
    size_t n_overrides;
    ebb_override *overrides;
} ebb_job;

/*
 * Reads a job file. All faults of the file are recorded in ctx, each with file:line:column, key,
 * value and what is accepted; then EBB_E_INPUT and *job NULL. Unknown keys are errors with a
 * suggestion. Files named by the job (tables) are looked up beside it. Files over 4 MiB are
 * refused. *job is new: free with ebb_job_free.
 */
EBB_API ebb_status ebb_job_read(ebb_ctx *ctx, const char *path, ebb_job **job);

/* The same from memory; `name` is used in messages, `folder` (may be NULL: none readable) for the
 * files the job names. */
EBB_API ebb_status ebb_job_parse(ebb_ctx *ctx, const char *text, size_t length, const char *name,
                                 const char *folder, ebb_job **job);

/* Frees a job; NULL is fine. */
EBB_API void ebb_job_free(ebb_job *job);

/* JSON Schema (draft 2020-12) of the job file, generated from the same table as the reader;
 * *text is new memory in arena. */
EBB_API ebb_status ebb_job_schema(ebb_ctx *ctx, ebb_arena *arena, const char **text);

/* --- geometry, used by everything above ---------------------------------------------------- */

/* Volume (m3) and area of all surfaces (m2) of a room. */
EBB_API double ebb_room_volume(const ebb_room *room);
EBB_API double ebb_room_area(const ebb_room *room);

/* Area of walls and ceilings, m2: what cover is a share of. */
EBB_API double ebb_room_treatable(const ebb_room *room);

/* Index of the surface that closes the given axis and side of a rectangular room; (size_t)-1 if
 * there is none. */
EBB_API size_t ebb_room_face(const ebb_room *room, int axis, int side);

/* Is a point (room coordinates, lower corner = 0) in the air, at least `clear` m from every
 * surface?
 */
EBB_API bool ebb_room_holds(const ebb_room *room, ebb_vec3 at, double clear);

/* Area of a surface, m2. */
EBB_API double ebb_surface_area(const ebb_surface *surface);

/* Unit vector out of the room. */
EBB_API ebb_vec3 ebb_surface_normal(const ebb_surface *surface);

/* How a surface faces; slopes count as ceilings. */
EBB_API bool ebb_surface_is_floor(const ebb_surface *surface);   /* its normal points down */
EBB_API bool ebb_surface_is_ceiling(const ebb_surface *surface); /* its normal points up */

/* Point (along, up) on surface s as job coordinates. */
EBB_API ebb_vec3 ebb_surface_point(const ebb_surface *surface, double along, double up);

/* Does a rectangle lie on the surface, with all of its area? (1 mm may stick out.) */
EBB_API bool ebb_surface_holds(const ebb_surface *surface, const double at[2],
                               const double size[2]);

/*
 * The room with one wall or level ceiling moved along its normal by `by` metres, outwards positive;
 * plan corners shift along the neighbouring walls, planes of other ceilings stay. Openings, units,
 * seats and speakers keep their place in space, but for what is on the moved surface; zones are cut
 * to what fits. EBB_E_RANGE with the reason when that is no room. *moved is plain data with parts
 * in arena and borrowed from `room`; it has no space.
 */
EBB_API ebb_status ebb_room_moved(ebb_ctx *ctx, ebb_arena *arena, const ebb_job *job,
                                  const ebb_room *room, size_t surface, double by, ebb_room *moved);

/* What a layer or mount of the unit's assembly was taken from by name, or NULL. */
EBB_API const ebb_origin *ebb_unit_origin(const ebb_unit *unit, const void *part);

/* Face of a placed unit on its surface, m: along and up, its turning applied. */
EBB_API void ebb_placed_size(const ebb_unit *unit, const ebb_placed *placed, double size[2]);

/* Do two rectangles [at, at + size] on one surface overlap by more than 1 mm in both directions? */
EBB_API bool ebb_rect_overlap(const double at_a[2], const double size_a[2], const double at_b[2],
                              const double size_b[2]);

#endif /* !__cplusplus */
#endif
