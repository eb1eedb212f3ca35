/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/status.h - status codes, the context, messages, progress.
 *
 * Rules that hold for the whole library
 * -------------------------------------
 *  - Every name starts with ebb_ (functions, types) or EBB_ (constants).
 *  - Inside, everything is SI: m, kg, s, Pa, Hz, degrees Celsius for temperatures, double
 * precision.
 *  - Time factor e^{+j w t}. Impedance Z = p/v into the surface (Pa s/m), admittance
 *    beta = rho c / Z (dimensionless, Re beta >= 0 for anything passive).
 *  - Every call that can fail returns ebb_status. On failure outputs hold zeros or NULL.
 *  - Argument order: context, inputs, outputs last.
 *  - Ownership is said in three words: "new" (caller frees with the named call), "borrowed"
 *    (stays with its owner), "stolen" (the callee frees it from now on).
 *  - The library never prints, never exits, never sets the locale, has no mutable globals.
 *  - One context belongs to one thread at a time. Different contexts are independent.
 */
#ifndef EBB_STATUS_H
#define EBB_STATUS_H

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

#if defined(__GNUC__)
#define EBB_API __attribute__((visibility("default")))
#define EBB_PRINTF(fmt, first) __attribute__((format(printf, fmt, first)))
#else
#define EBB_API
#define EBB_PRINTF(fmt, first)
#endif

/* One list gives both the enumeration and the texts of ebb_status_text(). */
#define EBB_STATUS_LIST(X)                                                                         \
    X(EBB_OK, "done")                                                                              \
    X(EBB_E_NOMEM, "out of memory")                                                                \
    X(EBB_E_IO, "a file could not be read or written")                                             \
    X(EBB_E_INPUT, "the input is not acceptable")                                                  \
    X(EBB_E_RANGE, "an argument lies outside its range")                                           \
    X(EBB_E_NUMERIC, "a numerical method did not converge")                                        \
    X(EBB_E_NOSOLUTION, "there is no solution")

typedef enum ebb_status {
#define EBB_STATUS_ENUM(code, text) code,
    EBB_STATUS_LIST(EBB_STATUS_ENUM)
#undef EBB_STATUS_ENUM
} ebb_status;

/* Text of a status code; a constant string, borrowed. Unknown codes give "unknown status". */
EBB_API const char *ebb_status_text(ebb_status status);

/* Where in a file something is. Line and column count from 1; 0 means "not known". */
typedef struct ebb_place {
    const char *file; /* name as given by the caller, may be NULL */
    int line;
    int column;
    const char *key; /* dotted key path such as "rooms[0].seats[1].at", may be NULL */
} ebb_place;

/* One message kept by a context: an error or a warning. All strings are borrowed from it. */
typedef struct ebb_message {
    ebb_status status; /* EBB_OK for a warning */
    ebb_place place;
    const char *text;
} ebb_message;

/*
 * Replaceable allocator. resize(user, NULL, n) allocates, resize(user, p, 0) frees and returns
 * NULL, anything else behaves like realloc. It may return NULL to signal failure. It must be
 * callable from several threads at once.
 */
typedef struct ebb_allocator {
    void *(*resize)(void *user, void *pointer, size_t size);
    void *user;
} ebb_allocator;

/* The context: messages, allocator, progress handler. Opaque. */
typedef struct ebb_ctx ebb_ctx;

/* New context with the C library's allocator; free with ebb_ctx_free. NULL when out of memory. */
EBB_API ebb_ctx *ebb_ctx_new(void);
/* New context with a given allocator (copied; user pointer borrowed). */
EBB_API ebb_ctx *ebb_ctx_new_with(const ebb_allocator *allocator);
/* Frees the context and its messages; NULL is fine. Arenas made from it must be gone before. */
EBB_API void ebb_ctx_free(ebb_ctx *ctx);
/* The allocator in use, borrowed; the C library's when ctx is NULL. Every call that records a
 * message or makes an arena takes a NULL context and then keeps no message: worker threads rely on
 * it. */
EBB_API const ebb_allocator *ebb_ctx_allocator(const ebb_ctx *ctx);

/* Records an error without a place and returns its status, so that a caller can
 * `return ebb_fail(ctx, EBB_E_RANGE, "...")`. The first errors win: at most 200 are kept. */
EBB_API ebb_status ebb_fail(ebb_ctx *ctx, ebb_status status, const char *format, ...)
    EBB_PRINTF(3, 4);
/* The same with a place (copied, may be NULL). */
EBB_API ebb_status ebb_fail_at(ebb_ctx *ctx, ebb_status status, const ebb_place *place,
                               const char *format, ...) EBB_PRINTF(4, 5);
/* Records a warning; equal texts are kept once. Place may be NULL. */
EBB_API void ebb_warn_at(ebb_ctx *ctx, const ebb_place *place, const char *format, ...)
    EBB_PRINTF(3, 4);

/* Number of errors, and of all messages (errors and warnings in the order they came). */
EBB_API size_t ebb_ctx_errors(const ebb_ctx *ctx);
EBB_API size_t ebb_ctx_messages(const ebb_ctx *ctx);
/* Message i (0 <= i < ebb_ctx_messages), borrowed until the next call that adds or clears. */
EBB_API const ebb_message *ebb_ctx_message(const ebb_ctx *ctx, size_t i);
/* Forgets all messages. */
EBB_API void ebb_ctx_clear(ebb_ctx *ctx);

/* Progress handler: `what` names the work in plain words, done runs from 0 to 1. Called only from
 * the thread that made the library call. */
typedef void (*ebb_progress_fn)(void *user, const char *what, double done);
EBB_API void ebb_ctx_on_progress(ebb_ctx *ctx, ebb_progress_fn handler, void *user);
/* Reports progress to the handler, if any. */
EBB_API void ebb_progress(ebb_ctx *ctx, const char *what, double done);

#ifdef __cplusplus
}
#endif
#endif
