/* SPDX-License-Identifier: GPL-3.0-or-later */
/* `ebb schema`: the JSON Schema of job and library files, for editors. It goes out as the library
 * made it: nothing is added here that the readers would not know. */
#include "cli.h"

#include <ebb/library.h>

#include <string.h>

static const cli_option options[] = {
    {"library", 0, NULL, "the schema of library files, not of jobs"},
    CLI_OUT,
    CLI_NO_COLOR,
    CLI_HELP};

static int run_schema(cli_run *run, const cli_given *given)
{
    const char *text = NULL;
    int status =
        cli_status(cli_flag(given, "library") ? ebb_library_schema(run->ctx, run->arena, &text)
                                              : ebb_job_schema(run->ctx, run->arena, &text));
    if (status == CLI_DONE)
        status = cli_deliver(run, text, strlen(text), cli_value(given, "out"));
    cli_show_messages(run);
    return status;
}

const cli_command cli_schema = {
    .name = "schema",
    .inputs = "",
    .summary = "JSON Schema of the job file or library file",
    .examples = "  ebb schema --out job.schema.json\n"
                "  ebb schema --library --out library.schema.json\n",
    .about =
        "Prints the JSON Schema (draft 2020-12) of the job file, or of the library file. It is "
        "made\nfrom the table the reader itself uses. Editors take it to complete keys and mark "
        "mistakes.\n",
    .n_options = sizeof options / sizeof options[0],
    .options = options,
    .run = run_schema,
};
