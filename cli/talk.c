/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Everything that goes to standard error: messages, and progress on a terminal.
 *
 * Results never pass through here, so that `ebb judge job > file` has the results in the file and
 * everything else in sight.
 */
#include "cli.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Asked of each stream by itself: one may be a terminal and the other a file. */
bool cli_colour_on(FILE *stream)
{
    /* NO_COLOR counts when it is there and not empty (no-color.org). */
    const char *no_color = getenv("NO_COLOR"), *term = getenv("TERM");
    if (no_color != NULL && no_color[0] != '\0')
        return false;
    if (term == NULL || strcmp(term, "dumb") == 0)
        return false;
    return isatty(fileno(stream)) == 1;
}

/* A message must not be glued to a half-drawn progress line. */
static void end_progress(cli_run *run)
{
    if (run->progress_shown)
        fputs("\r\033[K", stderr);
    run->progress_shown = false;
}

/* "error" and "warning" stand out on a terminal; nothing is said by colour alone. */
static void put_kind(const cli_run *run, bool error)
{
    const char *word = error ? "error" : "warning";
    if (run->colour)
        fprintf(stderr, "\033[1;%dm%s:\033[0m ", error ? 31 : 35, word);
    else
        fprintf(stderr, "%s: ", word);
}

/* What is wrong with the call itself; faults of the job come from the library, with their place. */
static void say(cli_run *run, const char *format, va_list values)
{
    end_progress(run);
    fputs(run->command != NULL ? "ebb " : "ebb", stderr);
    fprintf(stderr, "%s: ", run->command != NULL ? run->command->name : "");
    put_kind(run, true);
    vfprintf(stderr, format, values);
    fputc('\n', stderr);
}

void cli_error(cli_run *run, const char *format, ...)
{
    va_list values;
    va_start(values, format);
    say(run, format, values);
    va_end(values);
}

/* The whole help would push the reason out of sight; where to find it is enough. */
int cli_misuse(cli_run *run, const char *format, ...)
{
    va_list values;
    va_start(values, format);
    say(run, format, values);
    va_end(values);
    const char *name = run->command != NULL ? run->command->name : "";
    fprintf(stderr, "`ebb%s%s --help` shows how it is used.\n", name[0] != '\0' ? " " : "", name);
    return CLI_USAGE;
}

/* file:line:column: error: key: text - the form that editors jump to. */
static void show(const cli_run *run, const ebb_message *m)
{
    const ebb_place *p = &m->place;
    fputs(p->file != NULL ? p->file : "ebb", stderr);
    if (p->file != NULL && p->line > 0)
        fprintf(stderr, ":%d", p->line);
    if (p->file != NULL && p->line > 0 && p->column > 0)
        fprintf(stderr, ":%d", p->column);
    fputs(": ", stderr);
    put_kind(run, m->status != EBB_OK);
    if (p->key != NULL && p->key[0] != '\0')
        fprintf(stderr, "%s: ", p->key);
    fprintf(stderr, "%s\n", m->text);
}

void cli_show_messages(cli_run *run)
{
    const size_t n = ebb_ctx_messages(run->ctx);
    size_t errors = 0;
    end_progress(run);
    for (size_t i = 0; i < n; i++) {
        const ebb_message *m = ebb_ctx_message(run->ctx, i);
        errors += m->status != EBB_OK;
        if (i >= run->shown && (m->status != EBB_OK || !run->quiet))
            show(run, m);
    }
    /* The context counts errors beyond those it keeps. */
    if (n > run->shown && ebb_ctx_errors(run->ctx) > errors)
        fprintf(stderr, "ebb: and %zu more\n", ebb_ctx_errors(run->ctx) - errors);
    run->shown = n;
}

/* One line, drawn over again. The text is cut so that it can not wrap: a line that did would leave
 * its first half behind. */
void cli_progress(void *user, const char *what, double done)
{
    cli_run *run = user;
    const double whole = run->progress_from + run->progress_span * done;
    fprintf(stderr, "\r%3.0f %% %.60s\033[K", 100 * whole, what);
    fflush(stderr);
    run->progress_shown = true;
}

/* Few statuses, for scripts: what failed is told in words. */
int cli_status(ebb_status status)
{
    switch (status) {
    case EBB_OK:
        return CLI_DONE;
    case EBB_E_INPUT:
    case EBB_E_RANGE: /* options are checked before: what is out of range came from the job */
        return CLI_INPUT;
    case EBB_E_NOSOLUTION:
        return CLI_NO_SOLUTION;
    case EBB_E_NOMEM:
    case EBB_E_IO:
    case EBB_E_NUMERIC:
        break;
    }
    return CLI_FAILED;
}
