/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Options: one table per command gives both what is accepted and what the help says.
 *
 * Written here because getopt_long takes abbreviations: a script that says --re would pin down
 * names we may want to give to other options later. Options may stand before or behind the inputs;
 * a lone "-" is an input (standard input), and "--" ends the options for files with odd names.
 */
#include "cli.h"

#include <stdlib.h>
#include <string.h>

#define MOST_OPTIONS 24

static const cli_option *by_name(const cli_command *command, const char *name, size_t length)
{
    for (size_t i = 0; i < command->n_options; i++) {
        const char *n = command->options[i].name;
        if (strlen(n) == length && memcmp(n, name, length) == 0)
            return &command->options[i];
    }
    return NULL;
}

/* Most options have no letter: letters are few, and scripts read better with words. */
static const cli_option *by_letter(const cli_command *command, char letter)
{
    for (size_t i = 0; i < command->n_options; i++)
        if (command->options[i].letter == letter && letter != '\0')
            return &command->options[i];
    return NULL;
}

/* Says what was probably meant; single letters are too short to guess from. */
static int refuse_unknown(cli_run *run, const char *word)
{
    const char *names[MOST_OPTIONS];
    size_t n = 0;
    for (; n < run->command->n_options && n < MOST_OPTIONS; n++)
        names[n] = run->command->options[n].name;
    const char *nearest = word[1] == '-' ? cli_nearest(word + 2, n, names) : NULL;
    if (nearest != NULL)
        return cli_misuse(run, "unknown option %s; did you mean --%s?", word, nearest);
    return cli_misuse(run, "unknown option %s", word);
}

/* One option at argv[*i], with its value behind "=", behind the letter, or in the next word. */
static int take_option(cli_run *run, int argc, char **argv, int *i, cli_given *given)
{
    const char *word = argv[*i], *value = NULL;
    const cli_option *option;
    if (word[1] == '-') {
        const size_t length = strcspn(word + 2, "=");
        option = by_name(run->command, word + 2, length);
        value = word[2 + length] == '=' ? word + 3 + length : NULL;
    } else {
        option = by_letter(run->command, word[1]);
        value = word[2] != '\0' ? word + 2 : NULL;
    }
    if (option == NULL)
        return refuse_unknown(run, word);
    /* Letters are not bundled (-qo): few exist, and a value glued to one reads like a bundle. */
    if (option->value == NULL && value != NULL)
        return cli_misuse(run, "--%s takes no value", option->name);
    if (option->value != NULL && value == NULL) {
        if (*i + 1 == argc)
            return cli_misuse(run, "--%s wants a value: %s", option->name, option->value);
        value = argv[++*i];
    }
    given->option[given->n_options] = option;
    given->value[given->n_options++] = value;
    given->help = given->help || strcmp(option->name, "help") == 0;
    return CLI_DONE;
}

int cli_sort(cli_run *run, int argc, char **argv, cli_given *given)
{
    /* No word gives more than one entry in either list. */
    const size_t most = (size_t)argc + 1;
    *given = (cli_given){.option = EBB_NEW(run->arena, const cli_option *, most),
                         .value = EBB_NEW(run->arena, const char *, most),
                         .input = EBB_NEW(run->arena, const char *, most)};
    if (given->option == NULL || given->value == NULL || given->input == NULL) {
        cli_error(run, "out of memory");
        return CLI_FAILED;
    }
    bool options_over = false;
    for (int i = 0; i < argc; i++) {
        if (!options_over && strcmp(argv[i], "--") == 0) {
            options_over = true;
        } else if (!options_over && argv[i][0] == '-' && argv[i][1] != '\0') {
            const int status = take_option(run, argc, argv, &i, given);
            /* Who asks for help gets it, even if what follows is wrong. */
            if (status != CLI_DONE || given->help)
                return status;
        } else {
            given->input[given->n_inputs++] = argv[i];
        }
    }
    const size_t wanted = run->command->n_inputs;
    /* The first word of those shown: of "FILE [NAME]..." only the file can be missing. */
    const int first = (int)strcspn(run->command->inputs, " ");
    if (given->n_inputs < wanted)
        return cli_misuse(run, "%.*s is missing", first, run->command->inputs);
    if (given->n_inputs > wanted && !run->command->more)
        return cli_misuse(run, "one argument too many: %s", given->input[wanted]);
    return CLI_DONE;
}

/* The last one wins, so that an alias or script can be overridden by what is typed behind it. */
const char *cli_value(const cli_given *given, const char *name)
{
    for (size_t i = given->n_options; i-- > 0;)
        if (strcmp(given->option[i]->name, name) == 0)
            return given->value[i];
    return NULL;
}

bool cli_flag(const cli_given *given, const char *name)
{
    for (size_t i = 0; i < given->n_options; i++)
        if (strcmp(given->option[i]->name, name) == 0)
            return true;
    return false;
}

int cli_whole(cli_run *run, const cli_given *given, const char *name, unsigned long range[2],
              unsigned long *number)
{
    const char *text = cli_value(given, name);
    if (text == NULL)
        return CLI_DONE;
    /* Digits alone: strtoul would take "-1" and blanks. More than nine cannot be in any range. */
    const size_t digits = strspn(text, "0123456789");
    const bool plain = digits > 0 && digits <= 10 && text[digits] == '\0';
    const unsigned long long value = plain ? strtoull(text, NULL, 10) : 0;
    if (!plain || value < range[0] || value > range[1])
        return cli_misuse(run, "--%s %s: a whole number from %lu to %lu is wanted", name, text,
                          range[0], range[1]);
    *number = (unsigned long)value;
    return CLI_DONE;
}

/* Frequencies carry their unit here as in the job file: the same parser, the same strictness. */
int cli_frequency(cli_run *run, const cli_given *given, const char *name, const double range[2],
                  double *hz)
{
    const char *text = cli_value(given, name);
    if (text == NULL)
        return CLI_DONE;
    char why[128];
    double value;
    if (!ebb_quantity_parse(EBB_Q_FREQUENCY, text, strlen(text), &value, why, sizeof why))
        return cli_misuse(run, "--%s %s: %s; wanted is %s", name, text, why,
                          ebb_quantity_accepts(EBB_Q_FREQUENCY));
    if (value < range[0] || value > range[1])
        return cli_misuse(run, "--%s %s: it lies between %g Hz and %g Hz", name, text, range[0],
                          range[1]);
    *hz = value;
    return CLI_DONE;
}

int cli_picture(cli_run *run, const cli_given *given, const char *name, const char **file)
{
    *file = cli_value(given, name);
    const char *ending = *file != NULL ? strrchr(*file, '.') : NULL;
    if (*file == NULL || (ending != NULL && ending != *file &&
                          (strcmp(ending, ".svg") == 0 || strcmp(ending, ".pdf") == 0 ||
                           strcmp(ending, ".png") == 0)))
        return CLI_DONE;
    return cli_misuse(run, "--%s %s: its name must end in .svg, .pdf or .png", name, *file);
}

/* The two contradict each other: neither is more likely to be meant. */
int cli_cache(cli_run *run, const cli_given *given)
{
    const char *folder = cli_value(given, "cache");
    const bool none = cli_flag(given, "no-cache");
    if (folder != NULL && none)
        return cli_misuse(run, "--cache and --no-cache do not go together");
    if (folder != NULL && folder[0] == '\0')
        return cli_misuse(run, "--cache wants a folder; --no-cache keeps nothing");
    run->cache = none ? "" : folder;
    return CLI_DONE;
}

/* -1 leaves the choice to the job, which knows its reader best. */
int cli_units(cli_run *run, const cli_given *given, int *units)
{
    const char *text = cli_value(given, "units");
    *units = -1;
    if (text == NULL)
        return CLI_DONE;
    if (strcmp(text, "metric") == 0)
        *units = EBB_UNITS_METRIC;
    else if (strcmp(text, "imperial") == 0)
        *units = EBB_UNITS_IMPERIAL;
    else
        return cli_misuse(run, "--units %s: metric or imperial is wanted", text);
    return CLI_DONE;
}

/* Columns are as wide as the longest option of any command, so that all helps look alike. */
void cli_print_help(FILE *to, const cli_command *command)
{
    fprintf(to, "Usage: ebb %s%s%s [OPTION]...\n%s\n\nExamples:\n%s\n%s\nOptions:\n", command->name,
            command->inputs[0] != '\0' ? " " : "", command->inputs, command->summary,
            command->examples, command->about);
    for (size_t i = 0; i < command->n_options; i++) {
        const cli_option *o = &command->options[i];
        char left[64];
        snprintf(left, sizeof left, "--%s%s%s", o->name, o->value != NULL ? " " : "",
                 o->value != NULL ? o->value : "");
        if (o->letter != '\0')
            fprintf(to, "  -%c, %-26s %s\n", o->letter, left, o->help);
        else
            fprintf(to, "      %-26s %s\n", left, o->help);
    }
}

bool cli_ends_in(const char *text, const char *ending)
{
    const size_t n = strlen(text), m = strlen(ending);
    return n > m && strcmp(text + n - m, ending) == 0;
}

/* Anything not given keeps the library's default. */
int cli_effort(cli_run *run, const cli_given *given, ebb_effort *effort)
{
    ebb_effort_default(effort);
    unsigned long seed = effort->seed, draws = effort->draws, starts = effort->starts;
    int status = cli_whole(run, given, "seed", (unsigned long[2]){0, 4294967295UL}, &seed);
    if (status == CLI_DONE)
        status = cli_whole(run, given, "draws", (unsigned long[2]){0, 4096}, &draws);
    if (status == CLI_DONE)
        status = cli_whole(run, given, "starts", (unsigned long[2]){1, 64}, &starts);
    effort->seed = (unsigned)seed;
    effort->draws = draws;
    effort->starts = starts;
    return status;
}
