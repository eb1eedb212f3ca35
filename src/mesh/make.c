/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The mesher's run: found, asked, watched, and what went wrong put into words.
 */
#include "private.h"

#include <ebb/process.h>

#include <signal.h>
#include <stdlib.h>

#define SECONDS 60.0
#define MEBIBYTES 1024.0
#define MOST_OUTPUT ((size_t)256 << 20)

/* Beside the running program; in a build folder the mesher lies in a folder of its own. */
static const char *const beside[] = {"ebb-mesh", "../mesher/ebb-mesh"};

static const char *find_mesher(ebb_arena *arena, const char *program)
{
    const char *named = program != NULL ? program : getenv("EBB_MESH");
    if (named != NULL && named[0] != '\0')
        return ebb_process_find(arena, named);
    const char *folder = ebb_process_folder(arena);
    for (size_t i = 0; i < sizeof beside / sizeof beside[0] && folder != NULL; i++) {
        const char *path = ebb_arena_format(arena, "%s%s", folder, beside[i]);
        const char *found = path != NULL ? ebb_process_find(arena, path) : NULL;
        if (found != NULL)
            return found;
    }
    return ebb_process_find(arena, "ebb-mesh");
}

/* Says what to do about it: the mesher is the one part that a person may have to install. */
static ebb_status fail_missing(ebb_ctx *ctx, const char *program)
{
    const char *named = program != NULL ? program : getenv("EBB_MESH");
    if (named != NULL && named[0] != '\0')
        return ebb_fail(ctx, EBB_E_IO,
                        "a room that is no box needs the program ebb-mesh, and there is no program "
                        "%s",
                        named);
    return ebb_fail(ctx, EBB_E_IO,
                    "a room that is no box needs the program ebb-mesh, which is neither beside "
                    "this program nor in PATH; it is built and installed with ebb where the "
                    "library Gmsh is (Debian: libgmsh-dev); the variable EBB_MESH may say where "
                    "it is");
}

/* The words of the mesher itself, if it left any. */
static const char *reason(ebb_arena *arena, const ebb_process_end *end)
{
    const char *text = end->words[0] != '\0' ? ebb_arena_format(arena, ": %s", end->words) : "";
    return text != NULL ? text : "";
}

/* How the mesher ended, in words for somebody who has never heard of it. */
static ebb_status judge_end(ebb_ctx *ctx, ebb_arena *arena, const ebb_process *p,
                            const ebb_process_end *end)
{
    switch (end->how) {
    case EBB_PROCESS_TOO_SLOW:
        return ebb_fail(ctx, EBB_E_IO,
                        "the mesher was ended after %g s; rooms with very small parts take long%s",
                        p->seconds, reason(arena, end));
    case EBB_PROCESS_TOO_LONG:
        return ebb_fail(ctx, EBB_E_IO, "the mesher was ended: it wrote more than %zu MiB",
                        p->most_output >> 20);
    case EBB_PROCESS_KILLED:
        return ebb_fail(ctx, EBB_E_IO, "the mesher was killed by signal %d%s%s", end->code,
                        end->code == SIGABRT || end->code == SIGSEGV || end->code == SIGKILL
                            ? " (a fault of its own, or out of memory)"
                            : "",
                        reason(arena, end));
    case EBB_PROCESS_EXITED:
        break;
    }
    if (end->code != 0)
        return ebb_fail(ctx, EBB_E_IO, "the mesher failed with status %d%s", end->code,
                        reason(arena, end));
    return EBB_OK;
}

static ebb_status make(ebb_ctx *ctx, ebb_arena *arena, const ebb_solid *solid,
                       const ebb_mesh_wish *wish, const char *program, ebb_mesh **mesh)
{
    /* One thread: the result must not depend on their number, and each would need memory. */
    static const char *const variables[] = {"OMP_NUM_THREADS=1", "OPENBLAS_NUM_THREADS=1", NULL};
    const char *text;
    ebb_process p = {.variables = variables,
                     .most_output = MOST_OUTPUT,
                     .seconds = wish->seconds == 0 ? SECONDS : wish->seconds,
                     .mebibytes = wish->mebibytes == 0 ? MEBIBYTES : wish->mebibytes};
    ebb_status status = ebb_mesh_ask(ctx, arena, solid, wish, &text, &p.n_input);
    if (status != EBB_OK)
        return status;
    const char *const arguments[] = {find_mesher(arena, program), NULL};
    if (arguments[0] == NULL)
        return fail_missing(ctx, program);
    p.arguments = arguments;
    p.input = text;
    ebb_process_end end;
    status = ebb_process_run(ctx, arena, &p, &end);
    if (status == EBB_OK)
        status = judge_end(ctx, arena, &p, &end);
    if (status == EBB_OK)
        status = ebb_mesh_read(ctx, solid, end.output, end.n_output, mesh);
    return status == EBB_OK ? ebb_mesh_check(ctx, solid, *mesh) : status;
}

ebb_status ebb_mesh_make(ebb_ctx *ctx, const ebb_solid *solid, const ebb_mesh_wish *wish,
                         const char *program, ebb_mesh **mesh)
{
    *mesh = NULL;
    if (!(wish->seconds >= 0) || !(wish->mebibytes >= 0))
        return ebb_fail(ctx, EBB_E_RANGE, "the mesher's time and memory can not be below 0");
    ebb_arena *arena = ebb_arena_new(ctx);
    ebb_status status = arena != NULL ? make(ctx, arena, solid, wish, program, mesh)
                                      : ebb_fail(ctx, EBB_E_NOMEM, "no memory for a mesh");
    ebb_arena_free(arena);
    if (status != EBB_OK) {
        ebb_mesh_free(*mesh);
        *mesh = NULL;
    }
    return status;
}
