/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Starting another program, with its streams in our hands. */
#ifndef EBB_BASE_LAUNCH_H
#define EBB_BASE_LAUNCH_H

#include <ebb/process.h>

#include <sys/types.h>

/* The last is no stream of the child: it tells us, when exec fails, why; exec closes it. */
enum { EBB_BASE_INPUT, EBB_BASE_OUTPUT, EBB_BASE_WORDS, EBB_BASE_TROUBLE, EBB_BASE_STREAMS };

/* Our ends and the child's; -1 where closed. */
typedef struct ebb_base_streams {
    int ours[EBB_BASE_STREAMS], theirs[EBB_BASE_STREAMS];
} ebb_base_streams;

/* Closes one, all. */
void ebb_base_shut(int *fd);
void ebb_base_shut_all(int fd[EBB_BASE_STREAMS]);

/* Starts a program; our ends do not block. Streams must all be -1 before and are the caller's to
 * close in any case. *child is -1 when it could not be started. */
ebb_status ebb_base_start(ebb_ctx *ctx, ebb_arena *arena, const ebb_process *process,
                          ebb_base_streams *streams, pid_t *child);

#endif
