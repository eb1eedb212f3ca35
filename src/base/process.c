/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Another program run under limits: its streams served, its end awaited or brought about.
 */
#include "launch.h"

#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define TAIL ((size_t)4096) /* bytes of standard error kept */
#define LONGEST_WORDS 200   /* characters of it shown */
#define SLICE 50            /* ms between looks whether the child has ended */
#define LAST_LOOKS 64       /* into standard error once the child is gone */
#define FIRST_BLOCK ((size_t)65536)

/* ---- streams --------------------------------------------------------------------------------- */

typedef struct talk {
    const ebb_process *process;
    ebb_arena *arena;
    ebb_base_streams s;
    size_t sent;
    char *output;
    size_t n_output, room;
    char tail[TAIL];
    size_t n_tail;
    bool too_long, no_memory;
} talk;

/* Sends as much as the socket takes now. The rest waits for the next turn: whoever waited here
 * while the program waits for its output to be taken would wait for ever. */
static void send_input(talk *t)
{
    const size_t left = t->process->n_input - t->sent;
    ssize_t n = 0;
    if (left > 0)
        n = send(t->s.ours[EBB_BASE_INPUT], (const char *)t->process->input + t->sent, left,
                 MSG_NOSIGNAL);
    if (n > 0)
        t->sent += (size_t)n;
    /* It may end before it has read everything: then there is nobody left to tell. */
    const bool broken = n < 0 && errno != EAGAIN && errno != EWOULDBLOCK && errno != EINTR;
    if (broken || t->sent == t->process->n_input)
        ebb_base_shut(&t->s.ours[EBB_BASE_INPUT]);
}

/* Makes room for some more output, doubling: the arena keeps the old blocks to its end. */
static bool grow_output(talk *t)
{
    if (t->room - t->n_output > 1)
        return true;
    const size_t room = t->room > 0 ? 2 * t->room : FIRST_BLOCK;
    char *larger = EBB_RAW(t->arena, char, room);
    if (larger == NULL)
        return false;
    if (t->n_output > 0)
        memcpy(larger, t->output, t->n_output);
    t->output = larger;
    t->room = room;
    return true;
}

/* Takes what is there of a stream; closes it at its end. False when nothing has come. */
static bool take(talk *t, int stream, char *at, size_t room, size_t *n_taken)
{
    const ssize_t n = read(t->s.ours[stream], at, room);
    if (n < 0 && (errno == EAGAIN || errno == EWOULDBLOCK || errno == EINTR))
        return false;
    if (n <= 0)
        ebb_base_shut(&t->s.ours[stream]);
    else
        *n_taken += (size_t)n;
    return n > 0;
}

/* One byte beyond what is accepted is enough to know; the program is then ended at once, so that it
 * can not fill the memory in the time it has. */
static bool take_output(talk *t)
{
    if (!grow_output(t)) {
        t->no_memory = true;
        return false;
    }
    const bool some =
        take(t, EBB_BASE_OUTPUT, t->output + t->n_output, t->room - t->n_output - 1, &t->n_output);
    t->too_long |= t->n_output > t->process->most_output;
    return some && !t->too_long;
}

/* Of standard error only the last part is kept. */
static bool take_words(talk *t)
{
    if (t->n_tail > TAIL / 2) {
        memmove(t->tail, t->tail + t->n_tail - TAIL / 4, TAIL / 4);
        t->n_tail = TAIL / 4;
    }
    return take(t, EBB_BASE_WORDS, t->tail + t->n_tail, TAIL - t->n_tail, &t->n_tail);
}

/* Waits at most `ms` for a stream to be ready and serves those that are. */
static void serve(talk *t, int ms)
{
    struct pollfd wait[EBB_BASE_WORDS + 1];
    for (int i = EBB_BASE_INPUT; i <= EBB_BASE_WORDS; i++) /* poll skips negative numbers */
        wait[i] =
            (struct pollfd){.fd = t->s.ours[i], .events = i == EBB_BASE_INPUT ? POLLOUT : POLLIN};
    if (poll(wait, EBB_BASE_WORDS + 1, ms) <= 0)
        return;
    if (wait[EBB_BASE_INPUT].revents != 0)
        send_input(t);
    if (wait[EBB_BASE_OUTPUT].revents != 0)
        take_output(t);
    if (wait[EBB_BASE_WORDS].revents != 0)
        take_words(t);
}

/* ---- the end --------------------------------------------------------------------------------- */

/* A clock that nobody sets back. */
static double now(void)
{
    struct timespec t = {0};
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* Has the child ended? It stays where it is, so that its number is not given to another. */
static bool has_ended(pid_t child)
{
    siginfo_t info = {0};
    return waitid(P_PID, (id_t)child, &info, WEXITED | WNOHANG | WNOWAIT) != 0 ||
           info.si_pid == child;
}

/* Serves the streams until the child has ended or must be ended; true when out of time. */
static bool watch(talk *t, pid_t child)
{
    const double until = now() + t->process->seconds;
    while (!t->too_long && !t->no_memory) {
        const double left = until - now();
        if (left <= 0)
            return true;
        const bool silent = t->s.ours[EBB_BASE_OUTPUT] < 0 && t->s.ours[EBB_BASE_WORDS] < 0;
        const int slice = silent ? 2 : SLICE; /* with its streams closed the end is near */
        serve(t, left * 1000 < slice ? (int)(left * 1000) + 1 : slice);
        if (has_ended(child))
            break;
    }
    return false;
}

/* Words of another program go to terminals and reports: nothing that could steer them may pass. */
static bool is_shown(char c)
{
    return c >= ' ' && c <= '~';
}

/* The last line of standard error with anything in it. */
static const char *last_words(talk *t)
{
    size_t end = t->n_tail, n = 0;
    while (end > 0 && !(is_shown(t->tail[end - 1]) && t->tail[end - 1] != ' '))
        end--;
    size_t begin = end;
    while (begin > 0 && t->tail[begin - 1] != '\n')
        begin--;
    char *words = EBB_NEW(t->arena, char, LONGEST_WORDS + 1);
    for (size_t i = begin; i < end && n < LONGEST_WORDS && words != NULL; i++)
        if (is_shown(t->tail[i]))
            words[n++] = t->tail[i];
    return words != NULL ? words : "";
}

/* Ends the group, buries the child and says how it went. */
static ebb_status finish(ebb_ctx *ctx, talk *t, pid_t child, bool too_slow, ebb_process_end *end)
{
    int state = 0;
    pid_t buried;
    (void)kill(-child, SIGKILL); /* also what it has left behind */
    do
        buried = waitpid(child, &state, 0);
    while (buried < 0 && errno == EINTR);
    if (buried == child && !t->too_long && !t->no_memory) /* what was still on its way */
        while (t->s.ours[EBB_BASE_OUTPUT] >= 0 && take_output(t))
            ;
    for (int i = 0; i < LAST_LOOKS && t->s.ours[EBB_BASE_WORDS] >= 0 && take_words(t); i++)
        ;
    if (t->no_memory || !grow_output(t))
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for the output of a program");
    if (buried != child)
        return ebb_fail(ctx, EBB_E_IO, "how a program has ended can not be told: %s",
                        strerror(errno));
    t->output[t->n_output] = '\0';
    *end = (ebb_process_end){.how = EBB_PROCESS_EXITED,
                             .code = WIFEXITED(state) ? WEXITSTATUS(state) : WTERMSIG(state),
                             .output = t->output,
                             .n_output = t->n_output,
                             .words = last_words(t)};
    if (t->too_long)
        end->how = EBB_PROCESS_TOO_LONG;
    else if (too_slow)
        end->how = EBB_PROCESS_TOO_SLOW;
    else if (!WIFEXITED(state))
        end->how = EBB_PROCESS_KILLED;
    return EBB_OK;
}

ebb_status ebb_process_run(ebb_ctx *ctx, ebb_arena *arena, const ebb_process *process,
                           ebb_process_end *end)
{
    pid_t child;
    *end = (ebb_process_end){0};
    if (!(process->seconds > 0) || !(process->mebibytes >= 0))
        return ebb_fail(ctx, EBB_E_RANGE, "a program needs some time to run in");
    talk *t = EBB_NEW(arena, talk, 1);
    if (t == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    t->process = process;
    t->arena = arena;
    for (int i = 0; i < EBB_BASE_STREAMS; i++)
        t->s.ours[i] = t->s.theirs[i] = -1;
    ebb_status status = ebb_base_start(ctx, arena, process, &t->s, &child);
    if (status == EBB_OK) {
        const bool too_slow = watch(t, child);
        status = finish(ctx, t, child, too_slow, end);
    }
    ebb_base_shut_all(t->s.ours);
    ebb_base_shut_all(t->s.theirs);
    return status;
}
