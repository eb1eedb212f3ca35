/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Bad files as data: every folder of a root holds the file, perhaps others that it names, and
 * `expected`: all messages that reading it gives, in order, one a line. "{presets}" stands for the
 * names of the preset constructions, "{materials}" for those of the preset materials.
 *
 * With EBB_WRITE_EXPECTED set the files are written instead of compared; read the difference
 * before keeping it.
 */
#ifndef TESTS_ROOM_CASES_H
#define TESTS_ROOM_CASES_H

#include "helper.h"

#include <dirent.h>
#include <sys/stat.h>
#include <unistd.h>

#define LONGEST 65536

/* ---- what is expected ------------------------------------------------------------------------ */

/* "a, b, c": the names below `section` of a file, in its order, found by their indentation. */
static void names_below(const char *file, const char *section, char *out, size_t size)
{
    char path[1024];
    size_t length, used = 0;
    bool inside = false;
    char *text = read_whole(project_file(file, path, sizeof path), &length);
    out[0] = '\0';
    for (char *line = strtok(text, "\n"); line != NULL; line = strtok(NULL, "\n")) {
        char *colon = strchr(line, ':');
        if (line[0] != ' ' && line[0] != '#')
            inside = strncmp(line, section, strlen(section)) == 0;
        if (!inside || strncmp(line, "  ", 2) != 0 || line[2] == ' ' || line[2] == '#' ||
            colon == NULL)
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

/* Reads text[0..length) of a case; anything made must be NULL, for every case is bad. */
typedef ebb_status (*case_reader)(ebb_ctx *ctx, const char *text, size_t length,
                                  const char *folder);

/* Lists that would make every expectation change with the presets. */
static void for_names(char *text, bool back)
{
    static char presets[LONGEST], materials[LONGEST];
    names_below("data/constructions.yaml", "constructions:", presets, sizeof presets);
    names_below("data/materials.yaml", "materials:", materials, sizeof materials);
    replace(text, LONGEST, back ? presets : "{presets}", back ? "{presets}" : presets);
    replace(text, LONGEST, back ? materials : "{materials}", back ? "{materials}" : materials);
}

/* Reads one case; true when the messages are those expected. */
static bool run_case(const char *folder, const char *file, case_reader read)
{
    static char before[LONGEST], after[LONGEST], got[LONGEST], wanted[LONGEST];
    char path[2048];
    size_t length, wanted_length;
    list_folder(folder, before, sizeof before);
    snprintf(path, sizeof path, "%s/%s", folder, file);
    char *text = read_whole(path, &length);
    ebb_ctx *ctx = ebb_ctx_new();
    assert_int_equal(read(ctx, text, length, folder), EBB_E_INPUT);
    assert_true(ebb_ctx_errors(ctx) > 0);
    messages_as_text(ctx, got, sizeof got);
    ebb_ctx_free(ctx);
    free(text);
    list_folder(folder, after, sizeof after);
    assert_string_equal(before, after);

    snprintf(path, sizeof path, "%s/expected", folder);
    if (getenv("EBB_WRITE_EXPECTED") != NULL) {
        for_names(got, true);
        write_expected(path, got);
        return true;
    }
    char *expected = read_whole(path, &wanted_length);
    snprintf(wanted, sizeof wanted, "%s", expected);
    free(expected);
    for_names(wanted, false);
    if (strcmp(got, wanted) == 0)
        return true;
    print_error("%s\n-- got:\n%s-- wanted:\n%s", folder, got, wanted);
    return false;
}

/* All cases below a folder of the project. */
static void run_cases(const char *where, const char *file, int fewest, case_reader read)
{
    char root[1024];
    struct dirent **entry;
    project_file(where, root, sizeof root);
    const int n = scandir(root, &entry, is_case, alphasort);
    int wrong = 0;
    assert_true(n >= fewest);
    for (int i = 0; i < n; i++) {
        char folder[1600];
        snprintf(folder, sizeof folder, "%s/%s", root, entry[i]->d_name);
        wrong += !run_case(folder, file, read);
        free(entry[i]);
    }
    free(entry);
    assert_int_equal(wrong, 0);
}

#endif
