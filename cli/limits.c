/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * `ebb limits`: every number a fault is measured against, with its source.
 *
 * A verdict is only as good as the numbers behind it. Here they lie open, with where they come from
 * and how sure that is, so that a client or colleague can disagree with one of them by name.
 */
#include "cli.h"

#include <ebb/limits.h>

#include <stdlib.h>

static const cli_option options[] = {CLI_UNITS, CLI_JSON, CLI_OUT, CLI_NO_COLOR, CLI_HELP};

static const char *origin_name(ebb_limit_origin origin)
{
    switch (origin) {
    case EBB_LIMIT_STANDARD:
        return "standard";
    case EBB_LIMIT_PAPER:
        return "paper";
    case EBB_LIMIT_PRACTICE:
        return "common practice";
    case EBB_LIMIT_OWN:
        break;
    }
    return "own choice";
}

/* In the JSON every number carries its unit in its name, as everywhere. */
static const char *unit_name(ebb_quantity_kind kind)
{
    switch (kind) {
    case EBB_Q_LENGTH:
        return "m";
    case EBB_Q_FREQUENCY:
        return "Hz";
    case EBB_Q_TIME:
        return "s";
    case EBB_Q_LEVEL:
        return "dB";
    default:
        return "1"; /* shares and plain numbers; the table has no other kinds */
    }
}

/* Three lines a limit: the sources are too long for a table that fits a terminal. */
static void put_limit(FILE *to, const ebb_limit *limit, ebb_units units)
{
    char value[64], low[64], high[64];
    fprintf(to, "\n%s: %s (%s to %s)\n", limit->key,
            ebb_quantity_print(limit->kind, limit->value, units, value, sizeof value),
            ebb_quantity_print(limit->kind, limit->low, units, low, sizeof low),
            ebb_quantity_print(limit->kind, limit->high, units, high, sizeof high));
    fprintf(to, "    %s\n    %s: %s\n", limit->meaning, origin_name(limit->origin), limit->source);
}

static int deliver_text(cli_run *run, int units, const char *out)
{
    size_t n, length = 0;
    const ebb_limit *table = ebb_limit_table(&n);
    char *text = NULL;
    FILE *to = open_memstream(&text, &length);
    if (to == NULL)
        return cli_status(ebb_fail(run->ctx, EBB_E_NOMEM, "no memory for the table"));
    fputs("Limits and the range a job may set them to, under `limits` by the same keys.\n", to);
    for (size_t i = 0; i < n; i++)
        put_limit(to, &table[i], units < 0 ? EBB_UNITS_METRIC : (ebb_units)units);
    const bool whole = !ferror(to);
    int status = CLI_FAILED;
    if (fclose(to) == 0 && whole)
        status = cli_deliver(run, text, length, out);
    else
        cli_error(run, "no memory for the table");
    free(text);
    return status;
}

/* No job is read, so there are no inputs; the key stays, empty, for programs that look for it. */
static int deliver_json(cli_run *run, const char *out)
{
    size_t n;
    const ebb_limit *table = ebb_limit_table(&n);
    json_t *list = json_array(), *document = cli_document("limits", json_object());
    for (size_t i = 0; i < n; i++) {
        const ebb_limit *l = &table[i];
        json_array_append_new(
            list, json_pack("{s:s, s:o, s:o, s:o, s:s, s:s, s:s, s:s}", "key", l->key, "value",
                            cli_json_number(l->value), "low", cli_json_number(l->low), "high",
                            cli_json_number(l->high), "unit", unit_name(l->kind), "origin",
                            origin_name(l->origin), "source", l->source, "meaning", l->meaning));
    }
    if (json_object_set_new(document, "limits", list) != 0) {
        json_decref(document);
        document = NULL;
    }
    return cli_deliver_json(run, document, out);
}

static int run_limits(cli_run *run, const cli_given *given)
{
    int units, status = cli_units(run, given, &units);
    if (status == CLI_DONE)
        status = cli_flag(given, "json") ? deliver_json(run, cli_value(given, "out"))
                                         : deliver_text(run, units, cli_value(given, "out"));
    cli_show_messages(run);
    return status;
}

const cli_command cli_limits = {
    .name = "limits",
    .inputs = "",
    .summary = "the numbers faults are measured against, with sources",
    .examples = "  ebb limits\n"
                "  ebb limits --json\n",
    .about = "Prints every limit with its value, the range a job may set it to, what it means, and "
             "where it\ncomes from: a standard, a paper, common practice or our own choice.\n",
    .n_options = sizeof options / sizeof options[0],
    .options = options,
    .run = run_limits,
};
