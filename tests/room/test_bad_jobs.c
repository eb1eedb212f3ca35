/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Bad job files as data: every folder of bad/ holds job.yaml, perhaps files it names, and
 * `expected`: all messages that reading it gives, in order, one a line. "{presets}" stands for the
 * names of the presets.
 *
 * With EBB_WRITE_EXPECTED set the files are written instead of compared; read the difference
 * before keeping it.
 */
#include "helper.h"

#include <dirent.h>
#include <sys/stat.h>
#include <unistd.h>

#define FEWEST_CASES 60
#define LONGEST 65536

/* ---- what is expected ------------------------------------------------------------------------ */

/* "a, b, c": the presets in the order of their file, found by their indentation. */
static void preset_names(char *out, size_t size)
{
    char path[1024];
    size_t length, used = 0;
    char *text = read_whole(project_file("data/constructions.yaml", path, sizeof path), &length);
    out[0] = '\0';
    for (char *line = strtok(text, "\n"); line != NULL; line = strtok(NULL, "\n")) {
        char *colon = strchr(line, ':');
        if (strncmp(line, "  ", 2) != 0 || line[2] == ' ' || line[2] == '#' || colon == NULL)
            continue;
        used += (size_t)snprintf(out + used, size - used, "%s%.*s", used > 0 ? ", " : "",
                                 (int)(colon - line - 2), line + 2);
    }
    assert_true(used > 0 && used < size);
    free(text);
}

/* Replaces the first `from` by `to` in a buffer. */
static void replace(char *text, size_t size, const char *from, const char *to)
{
    char *at = strstr(text, from);
    if (at == NULL)
        return;
    const size_t tail = strlen(at + strlen(from)) + 1;
    assert_true((size_t)(at - text) + strlen(to) + tail <= size);
    memmove(at + strlen(to), at + strlen(from), tail);
    memcpy(at, to, strlen(to));
}

/* Messages as the lines of `expected`. */
static void messages_as_text(const ebb_ctx *ctx, char *out, size_t size)
{
    size_t used = 0;
    out[0] = '\0';
    for (size_t i = 0; i < ebb_ctx_messages(ctx); i++) {
        const ebb_message *m = ebb_ctx_message(ctx, i);
        const int n = snprintf(
            out + used, size - used, "%s:%d:%d: %s%s%s%s\n", m->place.file, m->place.line,
            m->place.column, m->status == EBB_OK ? "warning: " : "",
            m->place.key != NULL ? m->place.key : "", m->place.key != NULL ? ": " : "", m->text);
        assert_true(n > 0 && used + (size_t)n < size);
        used += (size_t)n;
    }
}

/* ---- folders --------------------------------------------------------------------------------- */

/* Names, sizes and times of everything in a folder: what changes when something is written. */
static void list_folder(const char *path, char *out, size_t size)
{
    struct dirent **entry;
    const int n = scandir(path, &entry, NULL, alphasort);
    size_t used = 0;
    assert_true(n >= 0);
    for (int i = 0; i < n; i++) {
        char name[2048];
        struct stat info;
        snprintf(name, sizeof name, "%s/%s", path, entry[i]->d_name);
        assert_int_equal(stat(name, &info), 0);
        used += (size_t)snprintf(out + used, size - used, "%s %lld %lld.%09ld\n", entry[i]->d_name,
                                 (long long)info.st_size, (long long)info.st_mtim.tv_sec,
                                 info.st_mtim.tv_nsec);
        assert_true(used < size);
        free(entry[i]);
    }
    free(entry);
}

static int is_case(const struct dirent *entry)
{
    return entry->d_name[0] != '.';
}

static void write_expected(const char *path, const char *text)
{
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    fputs(text, file);
    assert_int_equal(fclose(file), 0);
}

/* ---- one case -------------------------------------------------------------------------------- */

/* Reads one case; true when the messages are those expected. */
static bool run_case(const char *folder)
{
    static char before[LONGEST], after[LONGEST], got[LONGEST], wanted[LONGEST], presets[LONGEST];
    char path[2048];
    size_t length, wanted_length;
    list_folder(folder, before, sizeof before);
    snprintf(path, sizeof path, "%s/job.yaml", folder);
    char *text = read_whole(path, &length);
    ebb_ctx *ctx = ebb_ctx_new();
    ebb_job *job = (ebb_job *)&length; /* anything but NULL */
    const ebb_status status = ebb_job_parse(ctx, text, length, "job.yaml", folder, &job);
    assert_int_equal(status, EBB_E_INPUT);
    assert_null(job);
    assert_true(ebb_ctx_errors(ctx) > 0);
    messages_as_text(ctx, got, sizeof got);
    ebb_ctx_free(ctx);
    free(text);
    list_folder(folder, after, sizeof after);
    assert_string_equal(before, after);

    snprintf(path, sizeof path, "%s/expected", folder);
    preset_names(presets, sizeof presets);
    if (getenv("EBB_WRITE_EXPECTED") != NULL) {
        replace(got, sizeof got, presets, "{presets}");
        write_expected(path, got);
        return true;
    }
    char *expected = read_whole(path, &wanted_length);
    snprintf(wanted, sizeof wanted, "%s", expected);
    free(expected);
    replace(wanted, sizeof wanted, "{presets}", presets);
    if (strcmp(got, wanted) == 0)
        return true;
    print_error("%s\n-- got:\n%s-- wanted:\n%s", folder, got, wanted);
    return false;
}

static void every_bad_job_gives_its_messages(void **state)
{
    (void)state;
    char root[1024];
    struct dirent **entry;
    project_file("tests/room/bad", root, sizeof root);
    const int n = scandir(root, &entry, is_case, alphasort);
    int wrong = 0;
    assert_true(n >= FEWEST_CASES);
    for (int i = 0; i < n; i++) {
        char folder[1600];
        snprintf(folder, sizeof folder, "%s/%s", root, entry[i]->d_name);
        wrong += !run_case(folder);
        free(entry[i]);
    }
    free(entry);
    assert_int_equal(wrong, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_bad_job_gives_its_messages)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
