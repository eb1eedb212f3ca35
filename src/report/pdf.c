/* SPDX-License-Identifier: GPL-3.0-or-later */
/* pdf.c - the client report as a PDF file. */
#include "pages.h"
#include "words.h"

#include <cairo-pdf.h>
#include <ebb/file.h>
#include <ebb/version.h>
#include <stdio.h>

/* A draft and the context for its errors, as cairo's closure. */
typedef struct sink {
    ebb_ctx *ctx;
    ebb_draft *draft; /* NULL: the bytes are dropped */
} sink;

static cairo_status_t to_draft(void *closure, const unsigned char *data, unsigned int length)
{
    sink *s = closure;
    if (!s->draft) {
        return CAIRO_STATUS_SUCCESS;
    }
    return ebb_draft_write(s->ctx, s->draft, data, length) == EBB_OK ? CAIRO_STATUS_SUCCESS
                                                                     : CAIRO_STATUS_WRITE_ERROR;
}

/* Readers of long reports jump by the outline. */
static void outline(void *user, const char *text, int page)
{
    char where[48];
    snprintf(where, sizeof where, "page=%d pos=[0 0]", page);
    cairo_pdf_surface_add_outline(user, CAIRO_PDF_OUTLINE_ROOT, text, where, 0);
}

/* Title and maker, for the list of documents that a client keeps. */
static void metadata(cairo_surface_t *surface, const ebb_report_doc *doc)
{
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, doc->title);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "Ebb " EBB_VERSION);
    /* Without this the clock would be written into the file: same input, same bytes. */
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, "1970-01-01T00:00:00Z");
}

/* Lays out the report and hands its bytes to `out`. `total` is the number of pages: 0 in a first
 * run that only counts them, and then set. */
static ebb_status print(sink *out, const ebb_report_doc *doc, int *total)
{
    cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(
        to_draft, out, EBB_REPORT_PAGE_WIDTH, EBB_REPORT_PAGE_HEIGHT);
    cairo_t *cr = cairo_create(surface);
    metadata(surface, doc);
    ebb_report_pages pages = {.ctx = out->ctx,
                              .cr = cr,
                              .doc = doc,
                              .total = *total,
                              .on_heading = outline,
                              .user = surface};
    ebb_report_flow(&pages);
    *total = pages.page;
    ebb_status status = pages.status;
    if (status == EBB_OK) {
        status = ebb_draw_check(out->ctx, cr);
    }
    cairo_destroy(cr);
    cairo_surface_finish(surface);
    const cairo_status_t written = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    if (status == EBB_OK && written != CAIRO_STATUS_SUCCESS) {
        status = ebb_fail(out->ctx, EBB_E_IO, "the report could not be written: %s",
                          cairo_status_to_string(written));
    }
    return status;
}

/* Printed twice: the first run finds out how many pages there are, for "page 3 of 9"; its bytes are
 * dropped. Errors show up in it before any file is touched. */
ebb_status ebb_report_print_pdf(ebb_ctx *ctx, const ebb_report_doc *doc, const char *path)
{
    int total = 0;
    sink out = {.ctx = ctx};
    ebb_status status = print(&out, doc, &total);
    if (status != EBB_OK) {
        return status;
    }
    status = ebb_draft_open(ctx, path, &out.draft);
    if (status != EBB_OK) {
        return status;
    }
    status = print(&out, doc, &total);
    if (status != EBB_OK) {
        ebb_draft_drop(out.draft);
        return status;
    }
    return ebb_draft_commit(ctx, out.draft);
}

ebb_status ebb_report_pdf(ebb_ctx *ctx, const ebb_answers *answers, int units, const char *path)
{
    ebb_report_doc doc = {.arena = ebb_arena_new(ctx)};
    ebb_report_source source = {ctx, &doc, answers, ebb_report_units(answers, units)};
    ebb_status status = doc.arena ? ebb_report_compose(&source)
                                  : ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the report");
    if (status == EBB_OK) {
        status = ebb_report_print_pdf(ctx, &doc, path);
    }
    ebb_arena_free(doc.arena);
    return status;
}
