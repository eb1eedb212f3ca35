/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * html.c - the client report as one HTML file: no scripts, nothing fetched, every drawing inside.
 *
 * The content policy forbids everything but the one style sheet, which is named by its hash; no
 * inline style is used, so that nothing a job says can change the page.
 */
#include "column.h"
#include "document.h"
#include "html_style.h"
#include "words.h"

#include <ebb/file.h>
#include <glib.h>
#include <string.h>

typedef struct page {
    ebb_ctx *ctx;
    const ebb_report_doc *doc;
    ebb_report_text_buffer out;
    int figures;
    bool section; /* one is open */
    ebb_status status;
} page;

/* Text as text: the four characters that could end it are replaced. */
static void put_escaped(page *p, const char *text)
{
    for (const char *at = text; *at;) {
        const size_t plain = strcspn(at, "&<>\"'");
        ebb_report_put(&p->out, at, plain);
        at += plain;
        const char *entity = *at == '&'   ? "&amp;"
                             : *at == '<' ? "&lt;"
                             : *at == '>' ? "&gt;"
                             : *at == '"' ? "&quot;"
                             : *at        ? "&#39;"
                                          : "";
        ebb_report_puts(&p->out, entity);
        at += *at ? 1 : 0;
    }
}

/* All text of a page goes through here or through put_escaped: what a job says can never be markup.
 */
static void put_element(page *p, const char *open, const char *text, const char *close)
{
    ebb_report_puts(&p->out, open);
    put_escaped(p, text);
    ebb_report_puts(&p->out, close);
}

/* Base64 of the SHA-256 of the style sheet, as the content policy wants it. */
static void put_hash(page *p, const char *style)
{
    guint8 digest[32];
    gsize length = sizeof digest;
    GChecksum *sum = g_checksum_new(G_CHECKSUM_SHA256);
    g_checksum_update(sum, (const guchar *)style, (gssize)strlen(style));
    g_checksum_get_digest(sum, digest, &length);
    g_checksum_free(sum);
    gchar *text = g_base64_encode(digest, length);
    ebb_report_puts(&p->out, text);
    g_free(text);
}

/* The policy comes before anything that it governs. No charset or language is left to be guessed.
 */
static void put_head(page *p)
{
    ebb_report_puts(&p->out,
                    "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                    "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src "
                    "'none'; style-src 'sha256-");
    put_hash(p, ebb_report_style());
    ebb_report_puts(&p->out,
                    "'; base-uri 'none'; form-action 'none'\">\n"
                    "<meta name=\"viewport\" content=\"width=device-width, "
                    "initial-scale=1\">\n<meta name=\"referrer\" content=\"no-referrer\">\n");
    put_element(p, "<title>", p->doc->title, "</title>\n");
    ebb_report_puts(&p->out, "<style>");
    ebb_report_puts(&p->out, ebb_report_style());
    ebb_report_puts(&p->out, "</style>\n</head>\n<body>\n<main>\n");
}

static void put_row(page *p, const ebb_report_table *table, size_t row)
{
    ebb_report_puts(&p->out, "<tr>");
    for (size_t k = 0; k < table->n_columns; k++) {
        const ebb_report_column *column = &table->column[k];
        /* The head is said again in every cell: on a phone rows become cards. */
        ebb_report_puts(&p->out, k == 0 ? "<th scope=\"row\" data-head=\"" : "<td data-head=\"");
        put_escaped(p, column->head);
        ebb_report_puts(&p->out, column->right ? "\" class=\"number\">" : "\">");
        put_escaped(p, table->cell[row * table->n_columns + k]);
        ebb_report_puts(&p->out, k == 0 ? "</th>" : "</td>");
    }
    ebb_report_puts(&p->out, "</tr>\n");
}

/* Widths as on paper, by the weights of the columns: left to itself a browser would give a long
 * name nearly all of the page. */
static void put_table(page *p, const ebb_report_table *table)
{
    put_element(p, "<table>\n<caption>", table->caption, "</caption>\n<colgroup>");
    double sum = 0.0;
    for (size_t k = 0; k < table->n_columns; k++) {
        sum += table->column[k].weight;
    }
    for (size_t k = 0; k < table->n_columns; k++) {
        ebb_report_putf(&p->out, "<col width=\"%.0f%%\">", 100.0 * table->column[k].weight / sum);
    }
    ebb_report_puts(&p->out, "</colgroup>\n<thead><tr>");
    for (size_t k = 0; k < table->n_columns; k++) {
        put_element(p,
                    table->column[k].right ? "<th scope=\"col\" class=\"number\">"
                                           : "<th scope=\"col\">",
                    table->column[k].head, "</th>");
    }
    ebb_report_puts(&p->out, "</tr></thead>\n<tbody>\n");
    for (size_t i = 0; i < table->n_rows; i++) {
        put_row(p, table, i);
    }
    ebb_report_puts(&p->out, "</tbody>\n</table>\n");
}

/* The drawing is part of the page rather than a picture beside it: it stays sharp at any size, and
 * no file can get lost. Its meaning stands in words for those who can not see it. */
static void put_figure(page *p, const ebb_report_figure *figure)
{
    const char *prefix = ebb_arena_format(p->doc->arena, "f%d-", ++p->figures);
    const ebb_picture picture = {.width = 496.0,
                                 .height = figure->height,
                                 .prefix = prefix ? prefix : "",
                                 .paint = figure->paint,
                                 .what = figure->what};
    const char *svg = NULL;
    const ebb_status status = ebb_draw_svg(p->ctx, p->doc->arena, &picture, &svg);
    if (status != EBB_OK) {
        p->status = status;
        return;
    }
    put_element(p, "<figure>\n<div class=\"scroll\" role=\"img\" tabindex=\"0\" aria-label=\"",
                figure->alt, "\">\n");
    ebb_report_puts(&p->out, svg);
    ebb_report_puts(&p->out, "\n</div>\n</figure>\n");
}

static void put_list(page *p, const ebb_report_block *block)
{
    ebb_report_puts(&p->out, "<ul>\n");
    for (size_t i = 0; i < block->n_items; i++) {
        put_element(p, "<li>", block->item[i], "</li>\n");
    }
    ebb_report_puts(&p->out, "</ul>\n");
}

/* A class for each verdict; its colour is the style sheet's. */
static const char *banner_class(ebb_ink ink)
{
    return ink == EBB_INK_MUSIC   ? "<p class=\"banner music\">"
           : ink == EBB_INK_VOICE ? "<p class=\"banner voice\">"
                                  : "<p class=\"banner no\">";
}

/* Each part of the report is a section, so that it can be skipped to. */
static void put_block(page *p, const ebb_report_block *block)
{
    switch (block->kind) {
    case EBB_REPORT_TITLE:
        put_element(p, "<h1>", block->text, "</h1>\n");
        break;
    case EBB_REPORT_HEADING:
        ebb_report_puts(&p->out, p->section ? "</section>\n<section>\n" : "<section>\n");
        p->section = true;
        put_element(p, "<h2>", block->text, "</h2>\n");
        break;
    case EBB_REPORT_SUBHEADING:
        put_element(p, "<h3>", block->text, "</h3>\n");
        break;
    case EBB_REPORT_TEXT:
        put_element(p, "<p>", block->text, "</p>\n");
        break;
    case EBB_REPORT_QUIET:
        put_element(p, "<p class=\"quiet\">", block->text, "</p>\n");
        break;
    case EBB_REPORT_BANNER:
        put_element(p, banner_class(block->ink), block->text, "</p>\n");
        break;
    case EBB_REPORT_LIST:
        put_list(p, block);
        break;
    case EBB_REPORT_TABLE:
        put_table(p, block->table);
        break;
    case EBB_REPORT_FIGURE:
        put_figure(p, &block->figure);
        break;
    case EBB_REPORT_PAGE:
        ebb_report_puts(&p->out, "<hr class=\"page\" aria-hidden=\"true\">\n");
        break;
    }
}

/* The whole page is made before the draft is opened: an error on the way leaves nothing behind. */
static ebb_status write_page(page *p, const char *path)
{
    ebb_draft *draft;
    ebb_status status = ebb_draft_open(p->ctx, path, &draft);
    if (status != EBB_OK) {
        return status;
    }
    status = ebb_draft_write(p->ctx, draft, p->out.data, p->out.length);
    if (status != EBB_OK) {
        ebb_draft_drop(draft);
        return status;
    }
    return ebb_draft_commit(p->ctx, draft);
}

/* One pass over the blocks, as for paper. */
ebb_status ebb_report_print_html(ebb_ctx *ctx, const ebb_report_doc *doc, const char *path)
{
    page p = {.ctx = ctx, .doc = doc, .out = {.arena = doc->arena}};
    put_head(&p);
    for (const ebb_report_block *b = doc->first; b; b = b->next) {
        put_block(&p, b);
    }
    ebb_report_puts(&p.out, p.section ? "</section>\n" : "");
    put_element(&p, "</main>\n<footer>", doc->trace, "</footer>\n</body>\n</html>\n");
    if (p.status != EBB_OK) {
        return p.status;
    }
    return p.out.failed ? ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the report")
                        : write_page(&p, path);
}

ebb_status ebb_report_html(ebb_ctx *ctx, const ebb_answers *answers, int units, const char *path)
{
    ebb_report_doc doc = {.arena = ebb_arena_new(ctx)};
    ebb_report_source source = {ctx, &doc, answers, ebb_report_units(answers, units)};
    ebb_status status = doc.arena ? ebb_report_compose(&source)
                                  : ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the report");
    if (status == EBB_OK) {
        status = ebb_report_print_html(ctx, &doc, path);
    }
    ebb_arena_free(doc.arena);
    return status;
}
