/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/field.h - the wave engine: response and damped modes of a room, 20-200 Hz.
 *
 * Two steps. First a geometry is projected once on a small real basis (rigid-wall modes plus
 * residual vectors); this gives a `reduced` model: stiffness per axis, one boundary matrix per
 * surface, and vectors for points and patches. Then everything else - constructions, units, seats,
 * speakers, small changes of size or of the air - is dense algebra on the reduced model and never
 * looks at the geometry again. A rectangular room is projected from closed forms, any other from
 * its finite elements (ebb/space.h); after that there is no difference.
 *
 * Weak form, time factor e^{+jwt}, k = w/c, scales s_d on the axes, n_td the normal of face t,
 * patch admittances as ports:
 *
 *   A(w) a = j w rho q / (s_x s_y s_z)                  a: coefficients of the pressure
 *   A(w) = sum_d K_d / s_d^2 - k^2 I
 *          + j k sum_t beta_t(w) B_t sqrt(sum_d (n_td / s_d)^2) + j k sum_p dbeta_p(w) P_p P_p^T /
 * (s_x s_y s_z)
 *
 * M is the identity: the basis is orthonormal over the volume. P_p is the integral of the basis
 * over a patch with a Legendre polynomial of unit norm on the patch; a rigid front moves as the
 * first of these only, a locally reacting area as all of them.
 *
 * Source of the method: Galerkin projection on modes and residual (static correction) vectors,
 * textbook structural dynamics; measured errors in docs/validation.md.
 */
#ifndef EBB_FIELD_H
#define EBB_FIELD_H

#include <ebb/job.h>
#include <ebb/space.h>

#ifndef __cplusplus

/* ---- what is to be solved ------------------------------------------------------------------ */

/* A rectangle on a face whose admittance differs from the face's own. Faces of a rectangular room
 * are numbered 2 * axis + side, those of another room like its surfaces. */
typedef struct ebb_patch {
    int face;
    double at[2], size[2]; /* rectangular room: m, in the two coordinates of the face in axis order,
                            * room origin 0 */
    ebb_rect rect;         /* any other: the rectangle in space, room origin 0 */
    bool piston;           /* rigid front: one velocity over the whole patch */
    const ebb_assembly *assembly; /* borrowed */
    size_t vary;                  /* index of its variation, see ebb_state */
} ebb_patch;

/* One geometry with everything the basis must be able to carry. Points have the room's lower
 * corner as origin. Borrowed arrays need to live only during ebb_reduced_new. */
typedef struct ebb_geometry {
    const ebb_space
        *space;      /* of a room that is no box; borrowed, must outlive the model. NULL: box */
    double size[3];  /* m; of the box around the room */
    double highest;  /* Hz, highest frequency wanted, 20..400 */
    double speed;    /* m/s, nominal speed of sound */
    size_t n_points; /* sources and receivers */
    const ebb_vec3 *points;
    size_t n_patches;
    const ebb_patch *patches; /* all patches that may ever be used: openings, candidates */
    /* 1: full, for single answers; below 1 a smaller, coarser basis (0.2..1). */
    double richness;
    /* Largest |beta| expected on each face; sets how many vectors it gets; 0 counts as 1. */
    double wall[EBB_MOST_SURFACES];
} ebb_geometry;

/* Face of a room's surface. */
EBB_API int ebb_face_of(const ebb_room *room, size_t surface);

/* Fills face, at, size and rect of a patch from a rectangle on a room's surface (surface
 * coordinates as in ebb/job.h). The other fields are left alone. EBB_E_RANGE for a surface that
 * does not exist. */
EBB_API ebb_status ebb_patch_on(ebb_ctx *ctx, const ebb_room *room, size_t surface,
                                const double at[2], const double size[2], ebb_patch *patch);

/* What the engine must know of a room to make a model of it up to `highest` Hz: its size or space
 * and, over band[0]..band[1] Hz, how much its walls yield (NULL: as if they were soft). Points,
 * patches and richness are still to be given. EBB_E_RANGE for a shaped room without a space. */
EBB_API ebb_status ebb_geometry_of(ebb_ctx *ctx, const ebb_job *job, const ebb_room *room,
                                   double highest, const double *band, ebb_geometry *geometry);

/* Openings of a room, then what hangs in it, as patches: n_openings + n_placed of them. */
EBB_API ebb_status ebb_room_patches(ebb_ctx *ctx, const ebb_job *job, const ebb_room *room,
                                    size_t n_placed, const ebb_placed *hung, ebb_patch *patches);

/* The reduced model. Opaque but for the read-only view below. */
typedef struct ebb_reduced ebb_reduced;

/* Projects a geometry. *reduced is new: free with ebb_reduced_free.
 * Errors: EBB_E_RANGE (size outside 0.5..40 m, points outside, patches off their face). */
EBB_API ebb_status ebb_reduced_new(ebb_ctx *ctx, const ebb_geometry *geometry,
                                   ebb_reduced **reduced);
EBB_API void ebb_reduced_free(ebb_reduced *reduced);

/* Faces of the model: 6 of a rectangular room, as many as surfaces of any other. */
EBB_API size_t ebb_reduced_faces(const ebb_reduced *reduced);

/* What is not known of the model itself, as a relative error: `truncation` of the response between
 * its points, from what the basis lacks of their exact static answers, `mesh` of the frequencies of
 * its modes (0 for boxes). */
typedef struct ebb_trust {
    double truncation, mesh;
} ebb_trust;
EBB_API ebb_trust ebb_reduced_trust(const ebb_reduced *reduced);

/* Number of basis vectors, and of ports of patch p. Port 0 is the whole patch moving as one; the
 * ports after it are the Legendre patterns of its cells, which carry a locally reacting area. */
EBB_API size_t ebb_reduced_size(const ebb_reduced *reduced);
EBB_API size_t ebb_reduced_ports(const ebb_reduced *reduced, size_t patch);
/* Vector P_p of one port (ebb_reduced_size doubles), borrowed. */
EBB_API const double *ebb_reduced_port(const ebb_reduced *reduced, size_t patch, size_t port);
/* What the basis lacks of the port's Green function with itself: lack[0] + k^2 lack[1], 1/m. Near
 * fields of patches converge slowly; a coarse model corrected by this is good enough to choose by.
 */
EBB_API void ebb_reduced_port_lack(const ebb_reduced *reduced, size_t patch, size_t port,
                                   double lack[2]);
/* Values of all basis functions at n points of the geometry: out[i * ebb_reduced_size + ...]. */
EBB_API ebb_status ebb_reduced_points(ebb_ctx *ctx, const ebb_reduced *reduced, size_t n,
                                      const ebb_vec3 *points, double *out);
/* Rigid-wall mode frequencies within the basis, rising, Hz; count in *n; borrowed. The first is
 * 0 Hz. labels: 3 half-wave counts per mode; of a room that is no box {number of the mode, -1, -1},
 * where the mode at 0 Hz is number 0. */
EBB_API const double *ebb_reduced_rigid(const ebb_reduced *reduced, size_t *n, const int **labels);

/* The state of a room: constructions, which patches are in use, points, medium, scale. Borrowed. */
typedef struct ebb_state {
    ebb_air air;
    double scale[3];                             /* s_d: true size = geometry size times scale */
    const ebb_assembly *face[EBB_MOST_SURFACES]; /* by face index */
    size_t n_used;
    const size_t *used;       /* patch indices in use, no overlaps */
    const ebb_patch *mounted; /* [n_used] what hangs there: its piston, assembly and vary count
                               * instead of the patch's own; NULL: the patches' own */
    size_t n_vary; /* variations; entry 0 holds for the faces, others by ebb_patch.vary */
    const ebb_variation *vary; /* NULL: none */
    size_t n_sources, n_receivers;
    const ebb_vec3 *sources, *receivers; /* in geometry coordinates, before scaling */
} ebb_state;

/* Fills air and faces of a state for a room of a job; scale 1, nothing used. */
EBB_API void ebb_state_of(const ebb_job *job, const ebb_room *room, ebb_state *state);

/* ---- response ------------------------------------------------------------------------------ */

/* Response p/Q in Pa s/m3: h[(s * n_receivers + r) * n_hz + f]. Of 80 and more rising frequencies
 * of a rich model only some are solved as they are, the others in the span of those solutions: they
 * agree with being asked for alone to about 1e-3 of the path's root of mean square over the band
 * (1e-2 was seen with units of hardly any damping).
 */
EBB_API ebb_status ebb_response(ebb_ctx *ctx, const ebb_reduced *reduced, const ebb_state *state,
                                size_t n_hz, const double *hz, double _Complex *h);

/* Green matrix of a state over given vectors: g[(f * n_vec + i) * n_vec + j] = v_i^T A(w_f)^-1 v_j,
 * vectors[i * size + ...]. The building block of placement searches. */
EBB_API ebb_status ebb_green(ebb_ctx *ctx, const ebb_reduced *reduced, const ebb_state *state,
                             size_t n_hz, const double *hz, size_t n_vec, const double *vectors,
                             double _Complex *g);

/* Power balance at one frequency for unit volume velocity (1 m3/s peak) of source 0: power[0] the
 * power put in, power[1 + t] absorbed by face t (without patches), power[1 + faces + i] by used
 * patch i; W; power has room for 1 + faces + used. All terms are from the same reduced solution;
 * their sum agrees to rounding. */
EBB_API ebb_status ebb_power(ebb_ctx *ctx, const ebb_reduced *reduced, const ebb_state *state,
                             double hz, double *power);

/* ---- impulse response ------------------------------------------------------------------------ */

/* What is wanted of an impulse response. Outside a band it is taken down by causal filters: below
 * `low` by a Butterworth high-pass of order 4, above `high` by a Butterworth low-pass of order 16,
 * both -3 dB at their corner, so that the model is not used where its basis ends: 30 dB down at
 * 1.25, 56 dB at 1.5 times `high`. */
typedef struct ebb_impulse_wish {
    double rate;      /* Hz, of the samples: from 5 times `high` to 192 kHz */
    double seconds;   /* length, 0.05..30; at most 4 million samples */
    double low, high; /* Hz; low 0: no high-pass; high at most the highest of the model */
    bool flat; /* false: of p/Q, as ebb_response has it; true: of p over dQ/dt, which is what a
                * small loudspeaker with a flat response in the open sends out; wants low > 0 */
} ebb_impulse_wish;

/* By what ebb_impulse multiplies p/Q at an angular frequency, rad/s, which may be complex. */
EBB_API double _Complex ebb_impulse_filter(const ebb_impulse_wish *wish, double _Complex omega);

/* Impulse responses; arrays belong to the arena they were made with. */
typedef struct ebb_impulses {
    size_t n; /* samples of each; sample i is at i / rate s */
    size_t n_sources, n_receivers;
    double *pressure; /* [(s * n_receivers + r) * n + i]: Pa/m3, for 1 m3 pushed out at time 0 in
                       * no time; flat: Pa s/m3, for a volume velocity that jumps by 1 m3/s */
    double before;    /* largest share of energy of any of them before time 0 */
} ebb_impulses;

/* Band-limited impulse responses from all sources to all receivers of a state. They begin at time
 * 0: what a period of the transform would wrap round is 80 dB down, besides its own decay. `before`
 * is not 0 where a construction's data answer before they are asked, as a loss factor that is the
 * same at all frequencies does; above 1e-5 there is a warning. */
EBB_API ebb_status ebb_impulse(ebb_ctx *ctx, ebb_arena *arena, const ebb_reduced *reduced,
                               const ebb_state *state, const ebb_impulse_wish *wish,
                               ebb_impulses *impulses);

/* ---- damped modes -------------------------------------------------------------------------- */

typedef struct ebb_mode {
    double hz;    /* Re(omega)/2 pi of the damped mode */
    double delta; /* amplitude decay, 1/s */
    double t60;   /* 6.908 / delta, s */
    double q;     /* pi f / delta */
    double share; /* share of acoustic energy in the air, 0..1; below 0.3 it is a unit's own mode */
    int label[3]; /* of the rigid mode it resembles most, as in ebb_reduced_rigid */
    double likeness; /* how much, 0..1 */
} ebb_mode;

/* Damped modes, by rising frequency, with residues. Owns its memory. */
typedef struct ebb_modes {
    ebb_arena *arena;
    size_t n;
    ebb_mode *mode;
    size_t n_sources, n_receivers;
    double _Complex
        *residue;            /* [(m * n_sources + s) * n_receivers + r]: p/Q ~ residue/(jw - s_m) */
    size_t size;             /* basis size */
    double _Complex *vector; /* [m * size + i], coefficients of the mode shapes */
} ebb_modes;

/* All damped modes with low <= hz <= high: first a real quadratic eigenproblem in which every
 * admittance is replaced by its best fit of mass, resistance and stiffness (rigid fronts with a
 * freedom of their own), then Newton steps on the true frequency-dependent problem. Modes with an
 * acoustic share below 0.3 are local to units and left out. *modes is new: ebb_modes_free. */
EBB_API ebb_status ebb_modes_new(ebb_ctx *ctx, const ebb_reduced *reduced, const ebb_state *state,
                                 double low, double high, ebb_modes **modes);
EBB_API void ebb_modes_free(ebb_modes *modes);

/* Modes of a slightly changed state, followed from `start` (modes of the same reduced model). */
EBB_API ebb_status ebb_modes_follow(ebb_ctx *ctx, const ebb_reduced *reduced,
                                    const ebb_state *state, const ebb_modes *start,
                                    ebb_modes **modes);

/* ---- a smaller model around one state -------------------------------------------------------- */

/* Restricts a reduced model to the span of the solutions of `state` over low..high Hz and its
 * damped modes: for many small variations of one layout. Only the patches in use by `state` remain
 * (with their old indices). modes may be NULL: the solutions alone carry the damped modes that can
 * be heard at the state's points. *smaller is new and borrows the larger model, which must outlive
 * it. */
EBB_API ebb_status ebb_reduced_around(ebb_ctx *ctx, const ebb_reduced *reduced,
                                      const ebb_state *state, const ebb_modes *modes, double low,
                                      double high, ebb_reduced **smaller);

/* ---- closed forms ---------------------------------------------------------------------------- */

/* Rigid-wall frequency of a box, Hz (Rayleigh). */
EBB_API double ebb_box_hz(const double size[3], const int label[3], double speed);
/* Number of modes below hz, from 4 pi V f^3/3c^3 + pi S f^2/4c^2 + E f/8c (Bolt/Maa 1939). */
EBB_API double ebb_box_count(const double size[3], double hz, double speed);
/* First-order decay rate, 1/s, of mode `label` for small constant admittances by face index. */
EBB_API double ebb_box_delta(const double size[3], const int label[3], const double beta[EBB_FACES],
                             double speed);
/* Walker's rule 1.1 W/H <= L/H <= 4.5 W/H - 4, L/H < 3, W/H < 3 (EBU Tech 3276, BS.1116). */
EBB_API bool ebb_box_walker(const double size[3]);

#endif /* !__cplusplus */
#endif
