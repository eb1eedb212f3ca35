/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * How another program is found and started.
 *
 * The child leads a process group of its own, so that what it starts is killed with it. Everything
 * that needs memory is done before the fork: between fork and exec only calls that are safe there
 * are made, since other threads of the host may hold any lock.
 *
 * Standard input is a socket, not a pipe: a write to a pipe that nobody reads raises SIGPIPE, and
 * the host's signals are not ours to change.
 */
#include "launch.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>
#ifdef __linux__
#include <sys/prctl.h>
#endif

#define MEBIBYTE 1048576.0

extern char **environ;

/* ---- finding programs ------------------------------------------------------------------------ */

/* A folder is executable, too, and would only fail later with words that help nobody. */
static bool is_program(const char *path)
{
    struct stat info;
    return stat(path, &info) == 0 && S_ISREG(info.st_mode) && access(path, X_OK) == 0;
}

const char *ebb_process_find(ebb_arena *arena, const char *name)
{
    if (strchr(name, '/') != NULL)
        return is_program(name) ? ebb_arena_text(arena, name) : NULL;
    for (const char *at = getenv("PATH"); at != NULL && name[0] != '\0';) {
        const size_t n = strcspn(at, ":");
        const char *path = ebb_arena_format(arena, "%.*s/%s", (int)n, at, name);
        /* An empty entry means the folder one happens to be in: never a place to take programs
         * from. */
        if (n > 0 && path != NULL && is_program(path))
            return path;
        at = at[n] == ':' ? at + n + 1 : NULL;
    }
    return NULL;
}

/* Not from the name that the program was called by: that may be a link, or anything at all. */
const char *ebb_process_folder(ebb_arena *arena)
{
    const size_t most = 4096;
    char *path = EBB_NEW(arena, char, most);
    const ssize_t n = path != NULL ? readlink("/proc/self/exe", path, most - 1) : -1;
    char *slash = n > 0 && (size_t)n < most - 1 ? strrchr(path, '/') : NULL;
    if (slash == NULL)
        return NULL;
    slash[1] = '\0';
    return path;
}

/* ---- starting -------------------------------------------------------------------------------- */

void ebb_base_shut(int *fd)
{
    if (*fd >= 0)
        close(*fd);
    *fd = -1;
}

void ebb_base_shut_all(int fd[EBB_BASE_STREAMS])
{
    for (int i = 0; i < EBB_BASE_STREAMS; i++)
        ebb_base_shut(&fd[i]);
}

/* In a host that has closed its own standard streams the pairs get their numbers. The first pair
 * takes the lowest, and its child's end is put in place first, so none is overwritten before its
 * turn. */
static bool open_streams(ebb_base_streams *s)
{
    for (int i = 0; i < EBB_BASE_STREAMS; i++) {
        int pair[2];
        if (i == EBB_BASE_INPUT ? socketpair(AF_UNIX, SOCK_STREAM, 0, pair) != 0 : pipe(pair) != 0)
            return false;
        s->ours[i] = pair[0];
        s->theirs[i] = pair[1];
        if (fcntl(s->ours[i], F_SETFD, FD_CLOEXEC) != 0 ||
            fcntl(s->theirs[i], F_SETFD, FD_CLOEXEC) != 0 ||
            (i != EBB_BASE_TROUBLE && fcntl(s->ours[i], F_SETFL, O_NONBLOCK) != 0))
            return false;
    }
    return true;
}

/* What the child needs, made ready before the fork. */
typedef struct launch {
    const char *path;
    char **arguments, **variables;
    struct rlimit memory;
    bool limited;
    pid_t parent;
} launch;

static bool names_same(const char *a, const char *b)
{
    const size_t n = strcspn(a, "=");
    return strncmp(a, b, n + 1) == 0;
}

/* The variables of this program with some set anew. */
static char **make_variables(ebb_arena *arena, const char *const *set)
{
    size_t n = 0, n_set = 0, out = 0;
    while (environ != NULL && environ[n] != NULL)
        n++;
    while (set != NULL && set[n_set] != NULL)
        n_set++;
    char **all = EBB_NEW(arena, char *, n + n_set + 1);
    for (size_t i = 0; i < n && all != NULL; i++) {
        bool replaced = false;
        for (size_t k = 0; k < n_set; k++)
            replaced |= names_same(set[k], environ[i]);
        if (!replaced)
            all[out++] = environ[i];
    }
    for (size_t k = 0; k < n_set && all != NULL; k++)
        all[out++] = ebb_arena_text(arena, set[k]);
    return all;
}

/* Copies: exec wants texts that may be written to, and it gets none of ours. */
static char **make_arguments(ebb_arena *arena, const char *const *arguments)
{
    size_t n = 0;
    while (arguments[n] != NULL)
        n++;
    char **all = EBB_NEW(arena, char *, n + 1);
    for (size_t i = 0; i < n && all != NULL; i++)
        if ((all[i] = ebb_arena_text(arena, arguments[i])) == NULL)
            return NULL;
    return all;
}

/* The soft limit only, and never above what the host itself has to keep to. */
static ebb_status make_launch(ebb_ctx *ctx, ebb_arena *arena, const ebb_process *process, launch *l)
{
    const char *name = process->arguments[0];
    *l = (launch){.path = ebb_process_find(arena, name), .parent = getpid()};
    if (l->path == NULL)
        return ebb_fail(ctx, EBB_E_IO, "there is no program %s", name);
    l->arguments = make_arguments(arena, process->arguments);
    l->variables = make_variables(arena, process->variables);
    if (l->arguments == NULL || l->variables == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    l->limited = process->mebibytes > 0 && getrlimit(RLIMIT_AS, &l->memory) == 0;
    const double bytes = process->mebibytes * MEBIBYTE;
    if (l->limited && (l->memory.rlim_cur == RLIM_INFINITY || bytes < (double)l->memory.rlim_cur))
        l->memory.rlim_cur = (rlim_t)bytes;
    return EBB_OK;
}

/* In the child: never returns. */
_Noreturn static void become(const launch *l, const ebb_base_streams *s)
{
    static const int back_to_default[] = {SIGPIPE, SIGINT, SIGQUIT, SIGTERM, SIGHUP, SIGXFSZ};
    const struct rlimit no_core = {0, 0};
    sigset_t none;
    (void)setpgid(0, 0);
#ifdef __linux__
    (void)prctl(PR_SET_PDEATHSIG, SIGKILL);
#endif
    for (size_t i = 0; i < sizeof back_to_default / sizeof back_to_default[0]; i++)
        signal(back_to_default[i], SIG_DFL);
    sigemptyset(&none);
    sigprocmask(SIG_SETMASK, &none, NULL);
    (void)setrlimit(RLIMIT_CORE, &no_core);
    bool ready = getppid() == l->parent; /* else it has died before it could be a condition */
    for (int i = EBB_BASE_INPUT; i <= EBB_BASE_WORDS && ready; i++)
        ready = dup2(s->theirs[i], i) == i;
    if (ready && (!l->limited || setrlimit(RLIMIT_AS, &l->memory) == 0))
        execve(l->path, l->arguments, l->variables);
    const int why = errno;
    (void)!write(s->theirs[EBB_BASE_TROUBLE], &why, sizeof why);
    _exit(127);
}

/* The reason why exec has failed, 0 when it has not. Waits for one of the two. */
static int trouble_of(ebb_base_streams *s)
{
    int why = 0;
    ssize_t n;
    do
        n = read(s->ours[EBB_BASE_TROUBLE], &why, sizeof why);
    while (n < 0 && errno == EINTR);
    ebb_base_shut(&s->ours[EBB_BASE_TROUBLE]);
    return n == (ssize_t)sizeof why ? why : 0;
}

/* The group is set from both sides, since either may run first: the child must lead it before it
 * starts anything, and we must be able to end it as soon as this returns. */
ebb_status ebb_base_start(ebb_ctx *ctx, ebb_arena *arena, const ebb_process *process,
                          ebb_base_streams *s, pid_t *child)
{
    launch l;
    *child = -1;
    ebb_status status = make_launch(ctx, arena, process, &l);
    if (status != EBB_OK)
        return status;
    if (open_streams(s))
        *child = fork();
    if (*child == 0)
        become(&l, s);
    if (*child < 0)
        return ebb_fail(ctx, EBB_E_IO, "%s can not be started: %s", l.path, strerror(errno));
    (void)setpgid(*child, *child); /* whoever of the two comes first */
    ebb_base_shut_all(s->theirs);
    const int why = trouble_of(s);
    if (why == 0)
        return EBB_OK;
    while (waitpid(*child, NULL, 0) < 0 && errno == EINTR)
        ;
    *child = -1;
    return ebb_fail(ctx, EBB_E_IO, "%s can not be started: %s", l.path, strerror(why));
}
