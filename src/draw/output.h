/* SPDX-License-Identifier: GPL-3.0-or-later */
/* output.h - drawings written as files or text. */
#ifndef EBB_DRAW_OUTPUT_H
#define EBB_DRAW_OUTPUT_H

#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <cairo.h>
#include <ebb/draw.h>

/* Creation date of every PDF: the same input must give the same bytes. */
#define EBB_DRAW_NO_DATE "1970-01-01T00:00:00Z"

/* Turns cairo's SVG into one <svg> element with stable names; see svg.c. */
ebb_status ebb_draw_svg_clean(ebb_ctx *ctx, ebb_arena *arena, const ebb_picture *picture,
                              const char *raw, const char **svg);

#endif
