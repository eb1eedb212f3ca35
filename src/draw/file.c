/* SPDX-License-Identifier: GPL-3.0-or-later */
/* file.c - a picture into a file, by its ending. */
#include "output.h"

#include <ebb/file.h>
#include <string.h>

#define DOTS_PER_POINT 2.0

/* A draft and the context for its errors, as cairo's closure. */
typedef struct sink {
    ebb_ctx *ctx;
    ebb_draft *draft;
} sink;

/* Cairo asks for bytes to be written; the first failure is recorded with its reason by the draft.
 */
static cairo_status_t to_draft(void *closure, const unsigned char *data, unsigned int length)
{
    sink *s = closure;
    return ebb_draft_write(s->ctx, s->draft, data, length) == EBB_OK ? CAIRO_STATUS_SUCCESS
                                                                     : CAIRO_STATUS_WRITE_ERROR;
}

/* A picture in a file of its own needs margins, and paper: PNG would be black without it. */
static ebb_status paint_on_paper(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame,
                                 const void *what)
{
    const ebb_picture *picture = what;
    const ebb_frame inner = {frame->x + 8.0, frame->y + 8.0, frame->width - 16.0,
                             frame->height - 16.0};
    ebb_draw_ink(cr, EBB_INK_PAPER);
    cairo_paint(cr);
    return picture->paint(ctx, cr, &inner, picture->what);
}

/* Paints on a surface, which it frees. */
static ebb_status paint_on(ebb_ctx *ctx, cairo_surface_t *surface, const ebb_picture *picture,
                           sink *png)
{
    const ebb_frame frame = {0.0, 0.0, picture->width, picture->height};
    cairo_t *cr = cairo_create(surface);
    if (png) {
        cairo_scale(cr, DOTS_PER_POINT, DOTS_PER_POINT);
    }
    ebb_status status = picture->paint(ctx, cr, &frame, picture->what);
    if (status == EBB_OK) {
        status = ebb_draw_check(ctx, cr);
    }
    cairo_destroy(cr);
    cairo_status_t written = CAIRO_STATUS_SUCCESS;
    if (png && status == EBB_OK) {
        written = cairo_surface_write_to_png_stream(surface, to_draft, png);
    }
    cairo_surface_finish(surface);
    if (written == CAIRO_STATUS_SUCCESS) {
        written = cairo_surface_status(surface);
    }
    cairo_surface_destroy(surface);
    if (status == EBB_OK && written != CAIRO_STATUS_SUCCESS) {
        status = ebb_fail(ctx, EBB_E_IO, "the drawing could not be written: %s",
                          cairo_status_to_string(written));
    }
    return status;
}

static ebb_status write_pdf(sink *out, const ebb_picture *picture)
{
    cairo_surface_t *surface =
        cairo_pdf_surface_create_for_stream(to_draft, out, picture->width, picture->height);
    /* Without this the clock would be written into the file. */
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, EBB_DRAW_NO_DATE);
    return paint_on(out->ctx, surface, picture, NULL);
}

/* Two dots for a point: readable on screens of high density, and still small. */
static ebb_status write_png(sink *out, const ebb_picture *picture)
{
    cairo_surface_t *surface =
        cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)(picture->width * DOTS_PER_POINT + 0.5),
                                   (int)(picture->height * DOTS_PER_POINT + 0.5));
    return paint_on(out->ctx, surface, picture, out);
}

/* A file by itself needs the XML declaration that a drawing inside a page must not have. */
static ebb_status write_svg(sink *out, const ebb_picture *picture)
{
    static const char HEAD[] = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n";
    ebb_arena *scratch = ebb_arena_new(out->ctx);
    const char *svg = NULL;
    ebb_status status = scratch ? ebb_draw_svg(out->ctx, scratch, picture, &svg)
                                : ebb_fail(out->ctx, EBB_E_NOMEM, "out of memory for a drawing");
    if (status == EBB_OK) {
        status = ebb_draft_write(out->ctx, out->draft, HEAD, sizeof HEAD - 1);
    }
    if (status == EBB_OK) {
        status = ebb_draft_write(out->ctx, out->draft, svg, strlen(svg));
    }
    ebb_arena_free(scratch);
    return status;
}

/* Endings are compared as they are: ".PNG" is refused rather than guessed. */
static bool ends_with(const char *path, const char *ending)
{
    const size_t n = strlen(path), m = strlen(ending);
    return n > m && strcmp(path + n - m, ending) == 0;
}

/* Everything that can be wrong with the question is found before the draft is opened; what fails
 * later drops the draft and leaves the old file alone. */
ebb_status ebb_picture_file(ebb_ctx *ctx, const char *path, const ebb_picture *picture)
{
    static const struct {
        const char *ending;
        ebb_status (*write)(sink *, const ebb_picture *);
    } KINDS[] = {{".svg", write_svg}, {".pdf", write_pdf}, {".png", write_png}};
    const double width = picture->width, height = picture->height;
    size_t k = 0;
    while (k < 3 && !ends_with(path, KINDS[k].ending)) {
        k++;
    }
    if (k == 3) {
        return ebb_fail(ctx, EBB_E_INPUT, "%s: a plot file ends in .svg, .pdf or .png", path);
    }
    if (!(width > 0.0 && width <= 10000.0 && height > 0.0 && height <= 10000.0)) {
        return ebb_fail(ctx, EBB_E_RANGE, "a plot of %g x %g points can not be made", width,
                        height);
    }
    const ebb_picture paper = {.width = width,
                               .height = height,
                               .prefix = picture->prefix,
                               .paint = paint_on_paper,
                               .what = picture};
    sink out = {.ctx = ctx};
    ebb_status status = ebb_draft_open(ctx, path, &out.draft);
    if (status != EBB_OK) {
        return status;
    }
    status = KINDS[k].write(&out, &paper);
    if (status != EBB_OK) {
        ebb_draft_drop(out.draft);
        return status;
    }
    return ebb_draft_commit(ctx, out.draft);
}

static ebb_status paint_plot(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame, const void *what)
{
    return ebb_draw_plot(ctx, cr, frame, what);
}

ebb_status ebb_plot_file(ebb_ctx *ctx, const char *path, double width, double height,
                         const ebb_plot *plot)
{
    const ebb_picture picture = {
        .width = width, .height = height, .prefix = "p", .paint = paint_plot, .what = plot};
    return ebb_picture_file(ctx, path, &picture);
}
