/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the commands of the program share. */
#ifndef EBB_CLI_H
#define EBB_CLI_H

#include <ebb/job.h>
#include <ebb/library.h>
#include <ebb/plan.h>
#include <ebb/prepare.h>

#include <jansson.h>
#include <stdio.h>

/* Exit statuses, as in the man pages. */
enum {
    CLI_DONE = 0,
    CLI_FAILED = 1,     /* a file, memory, or a method failed */
    CLI_USAGE = 2,      /* the command line is wrong */
    CLI_INPUT = 3,      /* the job is not acceptable */
    CLI_NO_SOLUTION = 4 /* nothing fits what was asked */
};

/* An option of a command. */
typedef struct cli_option {
    const char *name;  /* without the dashes */
    char letter;       /* short form, 0: none */
    const char *value; /* what its value is called, NULL: it takes none */
    const char *help;
} cli_option;

/* Options that mean the same wherever they are taken. */
#define CLI_JSON                                                                                   \
    {                                                                                              \
        "json", 0, NULL, "print JSON instead of text"                                              \
    }
#define CLI_OUT                                                                                    \
    {                                                                                              \
        "out", 'o', "FILE", "write to FILE instead of standard output (-)"                         \
    }
#define CLI_UNITS                                                                                  \
    {                                                                                              \
        "units", 0, "metric|imperial", "units of the text; the job's own if not given"             \
    }
#define CLI_CACHE                                                                                  \
    {"cache", 0, "FOLDER", "where meshes and modes of rooms that are no box are kept"},            \
    {                                                                                              \
        "no-cache", 0, NULL, "mesh anew, and keep nothing"                                         \
    }
/* What cli_effort reads. */
#define CLI_EFFORT                                                                                 \
    {"seed", 0, "N", "start of the random numbers; the same seed gives the same answer"},          \
        {"draws", 0, "N", "draws of what is not known, 0 to 4096"},                                \
    {                                                                                              \
        "starts", 0, "N", "starts of the search for a plan, 1 to 64"                               \
    }
#define CLI_QUIET                                                                                  \
    {                                                                                              \
        "quiet", 'q', NULL, "no progress, no warnings on standard error"                           \
    }
#define CLI_NO_COLOR                                                                               \
    {                                                                                              \
        "no-color", 0, NULL, "no colour, whatever the terminal"                                    \
    }
#define CLI_HELP                                                                                   \
    {                                                                                              \
        "help", 'h', NULL, "show this help and end"                                                \
    }

/* What was given on the command line; borrowed from the run. */
typedef struct cli_given {
    size_t n_options;
    const cli_option **option;
    const char **value; /* NULL where the option takes none */
    size_t n_inputs;
    const char **input;
    bool help;
} cli_given;

typedef struct cli_run cli_run;

typedef struct cli_command {
    const char *name;
    const char *inputs;  /* plain arguments as shown in the usage line, "" for none */
    size_t n_inputs;     /* how many are wanted */
    bool more;           /* any number of others may follow */
    const char *summary; /* one line */
    const char *examples;
    const char *about; /* what it does, wrapped */
    size_t n_options;
    const cli_option *options;
    int (*run)(cli_run *run, const cli_given *given);
} cli_command;

/* One run of the program. */
struct cli_run {
    ebb_ctx *ctx;
    ebb_arena *arena;
    const cli_command *command; /* NULL before one is known */
    bool quiet;
    bool colour; /* of standard error */
    bool progress_shown;
    size_t shown;                        /* messages of the context that were shown already */
    double progress_from, progress_span; /* the part of the whole that one library call is */
    const char *cache; /* folder of meshes and modes; "": none, NULL: the usual one */
};

extern const cli_command cli_check, cli_craft, cli_field, cli_judge, cli_limits, cli_plan,
    cli_reshape, cli_schema, cli_unit;

/* ---- options.c ----------------------------------------------------------------------------- */

/* Sorts argv (behind the command) into options and inputs; CLI_DONE or CLI_USAGE, said why. */
int cli_sort(cli_run *run, int argc, char **argv, cli_given *given);
/* Last value given for an option, NULL when it was not given. */
const char *cli_value(const cli_given *given, const char *name);
/* Was it given? */
bool cli_flag(const cli_given *given, const char *name);
/* Whole number of an option between low and high into *number, left alone when not given. */
int cli_whole(cli_run *run, const cli_given *given, const char *name, unsigned long range[2],
              unsigned long *number);
/* Frequency of an option, Hz; the same rules. */
int cli_frequency(cli_run *run, const cli_given *given, const char *name, const double range[2],
                  double *hz);
/* --units: EBB_UNITS_..., or -1 when not given. */
int cli_units(cli_run *run, const cli_given *given, int *units);
/* File of an option that names a picture (NULL when not given): its ending is checked before any
 * work is done. */
int cli_picture(cli_run *run, const cli_given *given, const char *name, const char **file);
/* --cache and --no-cache, for cli_prepare. */
int cli_cache(cli_run *run, const cli_given *given);
/* Does a file name end like that? */
bool cli_ends_in(const char *text, const char *ending);
/* --seed, --draws and --starts over the library's default. */
int cli_effort(cli_run *run, const cli_given *given, ebb_effort *effort);
void cli_print_help(FILE *to, const cli_command *command);

/* ---- words.c ------------------------------------------------------------------------------- */

/* The word of a list that is most like `word`, NULL when none is near enough to be meant. */
const char *cli_nearest(const char *word, size_t n, const char *const *list);

/* ---- talk.c: standard error ------------------------------------------------------------------ */

bool cli_colour_on(FILE *stream);
void cli_error(cli_run *run, const char *format, ...) EBB_PRINTF(2, 3);
/* The same, with a hint at the help; returns CLI_USAGE. */
int cli_misuse(cli_run *run, const char *format, ...) EBB_PRINTF(2, 3);
/* Messages of the context that were not shown yet; clears the progress line. */
void cli_show_messages(cli_run *run);
/* Progress of the library, as ebb_progress_fn; user is the run. */
void cli_progress(void *user, const char *what, double done);
/* The exit status that stands for a status of the library. */
int cli_status(ebb_status status);

/* ---- common.c: jobs in, results out ---------------------------------------------------------- */

/* Reads the job, "-" from standard input; on failure its messages are shown. */
int cli_read_job(cli_run *run, const char *path, ebb_job **job);
/* The same for a library file, or the absorbers of a job. */
int cli_read_library(cli_run *run, const char *path, ebb_library **library);
/* Index of a room by name; job->n_rooms when there is none, said so. */
size_t cli_find_room(cli_run *run, const ebb_job *job, const char *name);
/* Which of n named things the words after the first ask for, in the order of the file; all when
 * there are none. *chosen is borrowed from the run. `what` is what one of them is called. */
int cli_choose(cli_run *run, const cli_given *given, const char *what, size_t n,
               const char *const *name, size_t **chosen, size_t *n_chosen);
/* The room named by --room, or the only one: with several, one must be named, for to take the first
 * silently would answer for the wrong room. */
int cli_one_room(cli_run *run, const cli_given *given, const ebb_job *job, size_t *room);

/* Gets the shaped rooms of a job ready to be solved up to `highest` Hz (0: as judging needs): the
 * one given, or all for NULL. *prepared is new: ebb_prepared_free before the job is freed. */
int cli_prepare(cli_run *run, ebb_job *job, const ebb_room *room, double highest,
                ebb_prepared **prepared);
/* Progress of that, for ebb_prepare_wish; user is the run. */
void cli_tell_step(void *user, const ebb_room *room, const char *step);
/* Writes a result to `out` (NULL or "-": standard output). */
int cli_deliver(cli_run *run, const char *text, size_t length, const char *out);
/* The same for a JSON document, which is stolen. NULL stands for "out of memory". */
int cli_deliver_json(cli_run *run, json_t *document, const char *out);
/* A document with its head; `inputs` is stolen. */
json_t *cli_document(const char *command, json_t *inputs);
/* A number, or null where it is not finite. */
json_t *cli_json_number(double value);
json_t *cli_json_numbers(size_t n, const double *value, size_t stride);
/* Warnings of the context as texts. */
json_t *cli_json_warnings(const ebb_ctx *ctx);

#endif
