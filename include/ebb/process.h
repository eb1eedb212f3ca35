/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/process.h - running another program under limits, with its output kept.
 */
#ifndef EBB_PROCESS_H
#define EBB_PROCESS_H

#include <ebb/arena.h>

#ifdef __cplusplus
extern "C" {
#endif

/* What is to be run. No shell is involved. All texts are borrowed. */
typedef struct ebb_process {
    const char *const *arguments; /* NULL at the end; the first is the program: a path, or a name
                                   * without a slash that is looked up in PATH */
    const char *const *variables; /* "NAME=value", NULL at the end, set for it beside those of this
                                   * program; may be NULL */
    const void *input;            /* its standard input */
    size_t n_input;               /* bytes */
    size_t most_output;           /* bytes of standard output that are accepted */
    double seconds;               /* time on the clock, above 0; it is killed when over */
    double mebibytes;             /* address space, 0: no limit */
} ebb_process;

typedef enum ebb_process_how {
    EBB_PROCESS_EXITED,   /* by itself: code is its exit status */
    EBB_PROCESS_KILLED,   /* code is the signal */
    EBB_PROCESS_TOO_SLOW, /* killed by us: out of time */
    EBB_PROCESS_TOO_LONG  /* killed by us: more output than accepted */
} ebb_process_how;

/* How it went. */
typedef struct ebb_process_end {
    ebb_process_how how;
    int code;
    const char *output; /* standard output, a 0 byte behind it */
    size_t n_output;
    const char *words; /* last line of standard error that is not empty, cut to 200 printable
                        * characters; "" when there is none */
} ebb_process_end;

/* Runs a program to its end and takes what it writes; memory in arena. The program and all that it
 * has started are gone when this returns; on Linux also when the calling thread is killed. A
 * program that ends without reading its input is no error here. EBB_E_IO: it can not be started
 * (not found, not executable), EBB_E_NOMEM. How it ended is for the caller to judge. The host must
 * not have told the system to ignore SIGCHLD. */
EBB_API ebb_status ebb_process_run(ebb_ctx *ctx, ebb_arena *arena, const ebb_process *process,
                                   ebb_process_end *end);

/* Where a program is: `name` itself when it has a slash, else the first executable file of that
 * name in PATH; NULL when there is none. Memory in arena. */
EBB_API const char *ebb_process_find(ebb_arena *arena, const char *name);

/* The folder of the running program, ending in a slash; NULL where the system does not tell. */
EBB_API const char *ebb_process_folder(ebb_arena *arena);

#ifdef __cplusplus
}
#endif
#endif
