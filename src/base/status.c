/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Status codes, the context with its messages, progress.
 *
 * A status says what kind of thing went wrong, so that a program can act on it; the messages of the
 * context say it to people. They are kept apart because one call can find many faults: all of a job
 * file's are wanted at once, not one per attempt.
 */
#include <ebb/arena.h>
#include <ebb/status.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Errors and warnings kept, each. A file with more faults than this is not read to the end by
 * anybody, and the bound keeps a hostile file from filling the memory. */
#define KEPT ((size_t)200)

/* The messages are a fixed part of the context, so that running out of memory can always be
 * recorded; only their words live in an arena. */
struct ebb_ctx {
    ebb_allocator allocator;
    ebb_arena *words;
    size_t errors;        /* all of them, kept or not */
    size_t kept_errors;   /* among the messages */
    size_t kept_warnings; /* among the messages */
    ebb_message message[2 * KEPT];
    ebb_progress_fn on_progress;
    void *progress_user;
};

const char *ebb_status_text(ebb_status status)
{
    switch (status) {
#define CASE(code, text)                                                                           \
    case code:                                                                                     \
        return text;
        EBB_STATUS_LIST(CASE)
#undef CASE
    }
    return "unknown status";
}

/* The allocator of everybody who does not bring one. */
static void *resize_with_libc(void *user, void *pointer, size_t size)
{
    (void)user;
    if (size == 0) { /* realloc(p, 0) may or may not free, so say it */
        free(pointer);
        return NULL;
    }
    return realloc(pointer, size);
}

static const ebb_allocator libc_allocator = {resize_with_libc, NULL};

ebb_ctx *ebb_ctx_new(void)
{
    return ebb_ctx_new_with(&libc_allocator);
}

ebb_ctx *ebb_ctx_new_with(const ebb_allocator *allocator)
{
    ebb_ctx *ctx = allocator->resize(allocator->user, NULL, sizeof *ctx);
    if (ctx == NULL)
        return NULL;
    memset(ctx, 0, sizeof *ctx);
    ctx->allocator = *allocator;
    return ctx;
}

void ebb_ctx_free(ebb_ctx *ctx)
{
    if (ctx == NULL)
        return;
    ebb_arena_free(ctx->words);
    /* Copied out first: the context that holds it is about to go. */
    const ebb_allocator allocator = ctx->allocator;
    allocator.resize(allocator.user, ctx, 0);
}

const ebb_allocator *ebb_ctx_allocator(const ebb_ctx *ctx)
{
    static const ebb_allocator from_libc = {resize_with_libc, NULL};
    return ctx ? &ctx->allocator : &from_libc;
}

/* Copies a text among the words of the context; NULL stays NULL. A text that finds no memory is
 * replaced by a constant one: the message itself must not be lost. */
static const char *keep(ebb_ctx *ctx, const char *text)
{
    if (text == NULL)
        return NULL;
    if (ctx->words == NULL)
        ctx->words = ebb_arena_new(ctx);
    const char *copy = ebb_arena_text(ctx->words, text);
    return copy != NULL ? copy : "(out of memory)";
}

/* Formats among the words of the context. Most messages are short and are formatted once. */
static const char *keep_formatted(ebb_ctx *ctx, const char *format, va_list values)
{
    char brief[256];
    va_list again;
    va_copy(again, values);
    const int length = vsnprintf(brief, sizeof brief, format, values);
    const char *text = NULL;
    if (length >= 0 && (size_t)length < sizeof brief) {
        text = keep(ctx, brief);
    } else if (length >= 0) {
        if (ctx->words == NULL)
            ctx->words = ebb_arena_new(ctx);
        char *whole = EBB_NEW(ctx->words, char, (size_t)length + 1);
        if (whole != NULL)
            vsnprintf(whole, (size_t)length + 1, format, again);
        /* Without memory for the whole text its beginning is better than nothing. */
        text = whole != NULL ? whole : keep(ctx, brief);
    }
    va_end(again);
    return text != NULL ? text : "(a message that could not be formatted)";
}

/* Warnings and errors share one list, since their order tells what led to what. */
static void append(ebb_ctx *ctx, ebb_status status, const ebb_place *place, const char *text)
{
    ebb_message *message = &ctx->message[ctx->kept_errors + ctx->kept_warnings];
    *message = (ebb_message){.status = status, .text = text};
    if (place != NULL)
        message->place =
            (ebb_place){keep(ctx, place->file), place->line, place->column, keep(ctx, place->key)};
    if (status == EBB_OK)
        ctx->kept_warnings++;
    else
        ctx->kept_errors++;
}

/* The first errors are kept, not the last: later ones are mostly consequences. All are counted, so
 * that a program can say how many it does not show. */
static void fail_with(ebb_ctx *ctx, ebb_status status, const ebb_place *place, const char *format,
                      va_list values)
{
    if (ctx == NULL || status == EBB_OK)
        return;
    ctx->errors++;
    if (ctx->kept_errors < KEPT)
        append(ctx, status, place, keep_formatted(ctx, format, values));
}

ebb_status ebb_fail(ebb_ctx *ctx, ebb_status status, const char *format, ...)
{
    va_list values;
    va_start(values, format);
    fail_with(ctx, status, NULL, format, values);
    va_end(values);
    return status;
}

ebb_status ebb_fail_at(ebb_ctx *ctx, ebb_status status, const ebb_place *place, const char *format,
                       ...)
{
    va_list values;
    va_start(values, format);
    fail_with(ctx, status, place, format, values);
    va_end(values);
    return status;
}

/* A linear search is enough: there are at most two hundred. */
static bool warned_before(const ebb_ctx *ctx, const char *text)
{
    for (size_t i = 0; i < ebb_ctx_messages(ctx); i++)
        if (ctx->message[i].status == EBB_OK && strcmp(ctx->message[i].text, text) == 0)
            return true;
    return false;
}

void ebb_warn_at(ebb_ctx *ctx, const ebb_place *place, const char *format, ...)
{
    if (ctx == NULL || ctx->kept_warnings == KEPT)
        return;
    /* Warnings come from loops over rooms and draws: compare before keeping, so that repeated
     * ones cost no memory. Longer ones than this are compared by their beginning kept whole. */
    char brief[512];
    va_list values;
    va_start(values, format);
    const int length = vsnprintf(brief, sizeof brief, format, values);
    va_end(values);
    if (length >= 0 && (size_t)length < sizeof brief && warned_before(ctx, brief))
        return;
    va_start(values, format);
    const char *text = keep_formatted(ctx, format, values);
    va_end(values);
    if (!warned_before(ctx, text))
        append(ctx, EBB_OK, place, text);
}

size_t ebb_ctx_errors(const ebb_ctx *ctx)
{
    return ctx->errors;
}

size_t ebb_ctx_messages(const ebb_ctx *ctx)
{
    return ctx->kept_errors + ctx->kept_warnings;
}

const ebb_message *ebb_ctx_message(const ebb_ctx *ctx, size_t i)
{
    return i < ebb_ctx_messages(ctx) ? &ctx->message[i] : NULL;
}

void ebb_ctx_clear(ebb_ctx *ctx)
{
    ebb_arena_free(ctx->words);
    ctx->words = NULL;
    ctx->errors = ctx->kept_errors = ctx->kept_warnings = 0;
}

void ebb_ctx_on_progress(ebb_ctx *ctx, ebb_progress_fn handler, void *user)
{
    ctx->on_progress = handler;
    ctx->progress_user = user;
}

void ebb_progress(ebb_ctx *ctx, const char *what, double done)
{
    if (ctx != NULL && ctx->on_progress != NULL)
        ctx->on_progress(ctx->progress_user, what, done);
}
