/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/draw.h - plots and drawings on a cairo surface: one code for PDF, SVG and PNG.
 *
 * Sizes are points (1/72 inch) on the page. Nothing here knows what a verdict is but through the
 * structs it is given.
 */
#ifndef EBB_DRAW_H
#define EBB_DRAW_H

#include <ebb/craft.h>
#include <ebb/plan.h>
#include <ebb/reshape.h>
#include <ebb/unit.h>

#ifndef __cplusplus

typedef struct _cairo cairo_t;

/* A rectangle on the page, points. */
typedef struct ebb_frame {
    double x, y, width, height;
} ebb_frame;

/* ---- ink and text, shared by drawings and pages -------------------------------------------- */

/* The palette. Every meaning that a colour carries is carried by a line style or a word too, so
 * that a black-and-white print can be read. */
typedef enum ebb_ink {
    EBB_INK_TEXT,   /* near black */
    EBB_INK_QUIET,  /* grey text, axes */
    EBB_INK_RULE,   /* hairlines, grid */
    EBB_INK_PAPER,  /* white */
    EBB_INK_SHADE,  /* pale ground of boxes and table heads */
    EBB_INK_BEFORE, /* untreated: grey-blue */
    EBB_INK_AFTER,  /* treated: deep green-blue */
    EBB_INK_BAND,   /* inside the limits: sand */
    EBB_INK_MARK,   /* what to look at: brick red */
    EBB_INK_MUSIC,  /* the three verdicts */
    EBB_INK_VOICE,
    EBB_INK_NO,
    EBB_INK_COUNT
} ebb_ink;

/* Red, green, blue, 0..1. */
EBB_API void ebb_ink_rgb(ebb_ink ink, double rgb[3]);
/* Makes an ink the source of cr. */
EBB_API void ebb_draw_ink(cairo_t *cr, ebb_ink ink);

/* A piece of text. It is drawn as it stands, never read as markup. */
typedef struct ebb_label {
    const char *text; /* UTF-8, length bytes */
    size_t length;    /* 0: up to the terminating 0 */
    double size;      /* font size, points */
    bool bold;
    double width; /* it wraps at this width, points; 0: one line of any width */
    double align; /* 0 left, 0.5 centred, 1 right, about x or within width */
    int lines;    /* at most so many lines, the last ends in an ellipsis; 0: any number */
} ebb_label;

/* Width and height of the laid-out text, points. */
EBB_API void ebb_label_size(cairo_t *cr, const ebb_label *label, double size[2]);
/* Draws with the current source; (x, y) is the upper left corner of its box when width > 0, else
 * the point on the top line about which it is aligned. Returns its height. */
EBB_API double ebb_label_draw(cairo_t *cr, const ebb_label *label, double x, double y);
/* How many bytes of the text fill whole lines within a height: where to break it between pages. */
EBB_API size_t ebb_label_fit(cairo_t *cr, const ebb_label *label, double height);

/* Turns the state of cr into a status: EBB_E_NOMEM or EBB_E_IO with a text when it has failed. */
EBB_API ebb_status ebb_draw_check(ebb_ctx *ctx, cairo_t *cr);

/* ---- drawings of an answer ----------------------------------------------------------------- */

/* All of them fail with EBB_E_RANGE when the frame is under 240 x 160 points, and say in the
 * drawing what is missing when an answer has no such numbers. */

/* Plan view, ceiling and the walls seen from inside, all to one scale, with openings, units (their
 * numbers count through layout->placed from 1), seats and speakers, dimensions in `units` and a
 * scale bar. */
EBB_API ebb_status ebb_draw_room(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame,
                                 const ebb_answer *answer, const ebb_layout *layout,
                                 ebb_units units);
/* 1/3-octave levels before (thin) and after (bold) over frequency with the limit band; one panel,
 * all paths, the worst path marked. */
EBB_API ebb_status ebb_draw_response(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame,
                                     const ebb_answer *answer);
/* Decay time of every damped mode before and after over frequency, with the audibility limit. */
EBB_API ebb_status ebb_draw_decay(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame,
                                  const ebb_answer *answer);
/* Mid-band decay per octave before and after with its mask. */
EBB_API ebb_status ebb_draw_mid(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame,
                                const ebb_answer *answer);

/* ---- working drawings -------------------------------------------------------------------------
 */

#define EBB_WORK_PLAN ((size_t)-1) /* instead of a surface */

/* One sheet: the plan, or a surface of a room with what is on it. Borrowed. */
typedef struct ebb_work {
    const ebb_answer *answer;
    const ebb_layout *layout;
    size_t surface; /* index into room->surfaces, or EBB_WORK_PLAN */
    ebb_units units;
} ebb_work;

/* To a scale that rulers have, seen from inside (ceilings from above), with running measures of
 * every edge from the left end and the floor, names and numbers of units, openings and a scale bar.
 * EBB_E_RANGE when the frame is under 240 x 300 points. */
EBB_API ebb_status ebb_draw_work(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame,
                                 const ebb_work *work);
/* The sheets of a layout: the plan and every surface that carries units; returns how many. */
EBB_API size_t ebb_work_surfaces(const ebb_room *room, const ebb_layout *layout,
                                 size_t list[EBB_MOST_SURFACES + 1]);
/* One sheet as .svg, .pdf or .png; all sheets of a layout as pages of one .pdf (`surface` is then
 * not looked at). A4 across. */
EBB_API ebb_status ebb_work_file(ebb_ctx *ctx, const char *path, const ebb_work *work);
EBB_API ebb_status ebb_work_pages(ebb_ctx *ctx, const char *path, const ebb_work *work);

/* ---- drawings of a unit --------------------------------------------------------------------- */

/* Absorption over frequency. Of one study both coefficients with the honest band, and below them
 * the area of one unit alone; of several their coefficients at normal incidence. 1 to 12 of them.
 */
EBB_API ebb_status ebb_draw_absorption(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame, size_t n,
                                       const ebb_study *const *study);
EBB_API ebb_status ebb_absorption_file(ebb_ctx *ctx, const char *path, size_t n,
                                       const ebb_study *const *study);
/* Horizontal section of a unit to scale, the room above and the wall below, with dimensions and a
 * numbered list of what it is made of. Parts thinner than a line are drawn as one. */
EBB_API ebb_status ebb_draw_section(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame,
                                    const ebb_unit *unit, ebb_units units);
EBB_API ebb_status ebb_section_file(ebb_ctx *ctx, const char *path, const ebb_unit *unit,
                                    ebb_units units);

/* ---- the map over dimensions ------------------------------------------------------------------
 */

/* Share of wrong cells over two dimensions, with contour lines every tenth and the room today; a
 * line when one dimension may change, up to three slices when all three may. */
EBB_API ebb_status ebb_draw_reshape(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame,
                                    const ebb_reshaped *map);
/* The same into a file: .svg, .pdf or .png. */
EBB_API ebb_status ebb_reshape_file(ebb_ctx *ctx, const char *path, const ebb_reshaped *map);

/* ---- a field on a cut --------------------------------------------------------------------------
 */

/* What a room's pressure does on a level or upright cut through it. Room coordinates, m. */
typedef struct ebb_field_map {
    const ebb_room *room;
    const char *title; /* what is shown; the place of the cut is added */
    int axis;          /* that is held: 0 length, 1 width, 2 height */
    double at;         /* m from the room's lower corner along it */
    size_t n[2]; /* points along the other two axes, lower axis first, 2..500 each, evenly from
                  * end to end of the box around the room */
    /* [j * n[0] + i]; NAN outside the room. Of a mode its pressure, -1..1, and `imaginary` NULL. Of
     * a pressure of which the level is wanted its two parts; `loudest` is the amplitude at 0 dB. */
    const double *value, *imaginary;
    double loudest;
    const char *note; /* one or two lines below the map; NULL: none */
    ebb_units units;
} ebb_field_map;

/* The map in shades with lines of equal value, the heavy one where the pressure of a mode is
 * nothing; outline of the room, seats, speakers, axes, scales. EBB_E_RANGE when the cut lies
 * outside the room, the points are too few or too many, no value is finite, or `loudest` is
 * nothing. */
EBB_API ebb_status ebb_draw_field(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame,
                                  const ebb_field_map *map);
/* The same into a file: .svg, .pdf or .png, as large as the cut wants. */
EBB_API ebb_status ebb_field_file(ebb_ctx *ctx, const char *path, const ebb_field_map *map);

/* ---- plots ----------------------------------------------------------------------------------- */

/* A generic line plot for tools and the bench: n series over a common abscissa. */
typedef struct ebb_series {
    const char *name;
    size_t n;
    const double *x, *y; /* NAN breaks the line */
    bool points;         /* markers instead of a line */
} ebb_series;

typedef struct ebb_plot {
    const char *title, *x_label, *y_label; /* with units */
    bool log_x;
    double x_range[2], y_range[2]; /* NAN: from the data */
    size_t n_series;
    const ebb_series *series;
} ebb_plot;

/* Draws a plot. Fails with EBB_E_RANGE when the frame is too small, a range is not one, or there
 * are more than 64 series; values that are not finite break lines and leave points out. */
EBB_API ebb_status ebb_draw_plot(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame,
                                 const ebb_plot *plot);
/* Draws a plot into a file, format by ending: .svg, .pdf, .png (width and height in points). */
EBB_API ebb_status ebb_plot_file(ebb_ctx *ctx, const char *path, double width, double height,
                                 const ebb_plot *plot);

/* Trade-offs of a designed box: absorption over mass, the picks named; format by ending as above.
 * EBB_E_RANGE when nothing passes: there is nothing to trade. */
EBB_API ebb_status ebb_trade_file(ebb_ctx *ctx, const char *path, const ebb_craft *craft);

/* ---- drawings as files and text ---------------------------------------------------------------
 */

/* What draws: fills frame on cr from `what`. */
typedef ebb_status (*ebb_paint_fn)(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame,
                                   const void *what);

/* A drawing to be written as SVG. */
typedef struct ebb_picture {
    double width, height; /* points */
    const char *prefix;   /* of every id inside, so that several pictures can share one page */
    ebb_paint_fn paint;
    const void *what; /* handed to paint */
} ebb_picture;

/* The picture as one <svg> element without XML declaration, style attributes or fixed size (it
 * has a viewBox and fills its box); the same picture gives the same bytes. *svg in arena. */
EBB_API ebb_status ebb_draw_svg(ebb_ctx *ctx, ebb_arena *arena, const ebb_picture *picture,
                                const char **svg);

/* The picture into a file on white paper, format by ending: .svg, .pdf, .png. */
EBB_API ebb_status ebb_picture_file(ebb_ctx *ctx, const char *path, const ebb_picture *picture);

#endif /* !__cplusplus */
#endif
