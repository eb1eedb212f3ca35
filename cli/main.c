/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The program: finds the command and runs it.
 *
 * It is thin on purpose. Commands read options, call the library and print; whatever decides
 * anything lives in the library, where other programs can have it too. The locale is never set, so
 * that numbers look the same everywhere.
 */
#include "cli.h"

#include <ebb/version.h>

#include <fcntl.h>
#include <signal.h>
#include <string.h>
#include <unistd.h>

/* In the order of the help: what is wanted most comes first. */
static const cli_command *const commands[] = {&cli_judge,   &cli_plan,   &cli_field,
                                              &cli_reshape, &cli_unit,   &cli_craft,
                                              &cli_check,   &cli_schema, &cli_limits};

#define N_COMMANDS (sizeof commands / sizeof commands[0])

/* Examples stand first: most people come back to look up just one line. */
static void print_overview(FILE *to)
{
    fputs("Usage: ebb COMMAND [ARGUMENT]...\n"
          "Judges small rooms for music and voice, and plans what is to be built in them.\n\n"
          "Examples:\n"
          "  ebb judge house.yaml                     verdict for every room of a job\n"
          "  ebb judge house.yaml --report house.pdf  the same, with a report for the client\n"
          "  ebb plan house.yaml --room Loft          how many units, where, with drawings\n"
          "  ebb reshape house.yaml --room Loft       what moving a wall does\n"
          "  ebb unit boxes.yaml                      what absorbers do\n"
          "  ebb craft boxes.yaml                     design boxes for targets\n"
          "  ebb check house.yaml                     what is wrong with a job file\n\n"
          "Commands:\n",
          to);
    for (size_t i = 0; i < N_COMMANDS; i++)
        fprintf(to, "  %-9s %s\n", commands[i]->name, commands[i]->summary);
    fputs("\nOptions:\n"
          "  -h, --help                     show this help and end\n"
          "      --version                  show the version and end\n\n"
          "`ebb COMMAND --help` tells more about a command.\n"
          "Exit status: 0 done, 1 failed, 2 wrong usage, 3 bad input, 4 no solution.\n",
          to);
}

/* A result on standard output counts only when it has arrived. */
static int flushed(cli_run *run)
{
    if (fflush(stdout) == 0 && !ferror(stdout))
        return CLI_DONE;
    cli_error(run, "standard output cannot be written");
    return CLI_FAILED;
}

static const cli_command *find_command(const char *name)
{
    for (size_t i = 0; i < N_COMMANDS; i++)
        if (strcmp(commands[i]->name, name) == 0)
            return commands[i];
    return NULL;
}

/* A suggestion, never a guess: running another command than was typed could overwrite a file. */
static int refuse_command(cli_run *run, const char *word)
{
    const char *names[N_COMMANDS];
    for (size_t i = 0; i < N_COMMANDS; i++)
        names[i] = commands[i]->name;
    const char *what = word[0] == '-' ? "option" : "command";
    const char *nearest = cli_nearest(word, N_COMMANDS, names);
    if (nearest != NULL)
        return cli_misuse(run, "unknown %s %s; did you mean `%s`?", what, word, nearest);
    return cli_misuse(run, "unknown %s %s", what, word);
}

/* Options are sorted before anything is read or written, so that a mistyped one costs nothing. */
static int run_command(cli_run *run, int argc, char **argv)
{
    cli_given given;
    const int status = cli_sort(run, argc, argv, &given);
    if (status != CLI_DONE)
        return status;
    if (given.help) {
        cli_print_help(stdout, run->command);
        return flushed(run);
    }
    run->quiet = cli_flag(&given, "quiet");
    run->colour = run->colour && !cli_flag(&given, "no-color");
    /* A terminal that can colour can also redraw a line. */
    if (cli_colour_on(stderr) && !run->quiet)
        ebb_ctx_on_progress(run->ctx, cli_progress, run);
    return run->command->run(run, &given);
}

static int run_words(cli_run *run, int argc, char **argv)
{
    /* Called bare it shows what there is, but a script that forgot its words must notice. */
    if (argc < 2) {
        print_overview(stderr);
        return CLI_USAGE;
    }
    if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0) {
        print_overview(stdout);
        return flushed(run);
    }
    if (strcmp(argv[1], "--version") == 0) {
        printf("ebb %s\n", ebb_version());
        return flushed(run);
    }
    run->command = find_command(argv[1]);
    if (run->command == NULL)
        return refuse_command(run, argv[1]);
    return run_command(run, argc - 2, argv + 2);
}

/* A standard stream that was closed would lend its number to the next file opened, and results
 * would land in it. What stands in is opened the wrong way round, so that its use fails. */
static bool hold_standard_streams(void)
{
    for (int fd = 0; fd < 3; fd++)
        if (fcntl(fd, F_GETFD) < 0 && open("/dev/null", fd == 0 ? O_WRONLY : O_RDONLY) != fd)
            return false;
    return true;
}

int main(int argc, char **argv)
{
    if (!hold_standard_streams())
        return CLI_FAILED;
    /* A closed pipe and a file grown too large are then errors of write() like any other. */
    signal(SIGPIPE, SIG_IGN);
    signal(SIGXFSZ, SIG_IGN);
    cli_run run = {.ctx = ebb_ctx_new(), .colour = cli_colour_on(stderr), .progress_span = 1};
    run.arena = run.ctx != NULL ? ebb_arena_new(run.ctx) : NULL;
    int status = CLI_FAILED;
    if (run.arena != NULL)
        status = run_words(&run, argc, argv);
    else
        cli_error(&run, "out of memory");
    ebb_arena_free(run.arena);
    ebb_ctx_free(run.ctx);
    return status;
}
