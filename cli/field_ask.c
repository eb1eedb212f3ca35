/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The picture that `ebb field` is asked for: what is shown, and where the room is cut.
 *
 * A mode is named by its number in the list of rigid-wall modes, or by a frequency that has a unit:
 * then the damped mode nearest to it is meant. A number never is a frequency and the other way
 * round, so nobody gets the 45th mode for 45 Hz.
 */
#include "field.h"

#include <string.h>

static const char *const axis_name[3] = {"length", "width", "height"};

/* ---- from the command line alone --------------------------------------------------------------
 */

static int ask_mode(cli_run *run, const cli_given *given, field_task *task)
{
    field_picture *p = &task->picture;
    const char *text = cli_value(given, "mode");
    if (strspn(text, "0123456789") == strlen(text)) {
        unsigned long number = 0;
        const int status = cli_whole(run, given, "mode", (unsigned long[2]){1, 100000}, &number);
        p->shown = FIELD_RIGID_MODE;
        p->mode = number;
        return status;
    }
    p->shown = FIELD_DAMPED_MODE;
    return cli_frequency(run, given, "mode", (double[2]){task->from, task->to}, &p->hz);
}

/* "height 1.2 m": an axis and a length. */
static int ask_cut(cli_run *run, const char *text, field_picture *picture)
{
    const size_t word = strcspn(text, " ");
    const char *length = text + word + strspn(text + word, " ");
    picture->axis = -1;
    for (int d = 0; d < 3; d++)
        if (strlen(axis_name[d]) == word && memcmp(axis_name[d], text, word) == 0)
            picture->axis = d;
    if (picture->axis < 0)
        return cli_misuse(run,
                          "--cut %s: wanted is length, width or height with a distance, such as "
                          "\"height 1.2 m\"",
                          text);
    char why[128];
    if (!ebb_quantity_parse(EBB_Q_LENGTH, length, strlen(length), &picture->at, why, sizeof why))
        return cli_misuse(run, "--cut %s: %s; wanted is %s", text, why,
                          ebb_quantity_accepts(EBB_Q_LENGTH));
    return CLI_DONE;
}

/* What is only of use to a picture is refused without one: it was meant to do something. */
static int refuse_alone(cli_run *run, const cli_given *given)
{
    static const char *const needs[] = {"mode", "pressure", "cut"};
    for (size_t i = 0; i < sizeof needs / sizeof needs[0]; i++)
        if (cli_flag(given, needs[i]))
            return cli_misuse(run, "--%s is for a picture: name its file with --picture", needs[i]);
    if (cli_flag(given, "speaker") && !cli_flag(given, "impulse"))
        return cli_misuse(run, "--speaker goes with --picture and --pressure, or with --impulse");
    return CLI_DONE;
}

int cli_field_ask(cli_run *run, const cli_given *given, field_task *task)
{
    field_picture *p = &task->picture;
    const bool mode = cli_flag(given, "mode"), pressure = cli_flag(given, "pressure");
    task->speaker = cli_value(given, "speaker");
    int status = cli_picture(run, given, "picture", &p->file);
    if (status != CLI_DONE)
        return status;
    if (p->file == NULL)
        return refuse_alone(run, given);
    if (mode == pressure)
        return cli_misuse(run, "--picture wants either --mode or --pressure");
    if (mode && cli_flag(given, "speaker") && !cli_flag(given, "impulse"))
        return cli_misuse(run, "--speaker goes with --pressure; modes have no speaker");
    p->axis = -1;
    if (pressure) {
        p->shown = FIELD_PRESSURE;
        status = cli_frequency(run, given, "pressure", (double[2]){task->from, task->to}, &p->hz);
    } else {
        status = ask_mode(run, given, task);
    }
    const char *cut = cli_value(given, "cut");
    return status == CLI_DONE && cut != NULL ? ask_cut(run, cut, p) : status;
}

/* ---- in the room ----------------------------------------------------------------------------- */

/* At the ears of the first seat; a room without seats is cut at the first speaker or half way up.
 */
static void cut_by_itself(const ebb_room *room, field_picture *picture)
{
    const ebb_station *s = room->n_seats > 0      ? &room->seats[0]
                           : room->n_speakers > 0 ? &room->speakers[0]
                                                  : NULL;
    picture->axis = 2;
    picture->at = s != NULL ? s->at.z - room->origin.z : room->size[2] / 2;
}

static int place_cut(cli_run *run, field_task *task)
{
    field_picture *p = &task->picture;
    const ebb_room *room = task->room;
    if (p->axis < 0)
        cut_by_itself(room, p);
    if (p->at >= 0 && p->at <= room->size[p->axis])
        return CLI_DONE;
    char at[64], most[64];
    cli_error(
        run, "the cut at %s %s lies outside room \"%s\", whose %s runs from 0 to %s",
        axis_name[p->axis], ebb_quantity_print(EBB_Q_LENGTH, p->at, task->units, at, sizeof at),
        room->name, axis_name[p->axis],
        ebb_quantity_print(EBB_Q_LENGTH, room->size[p->axis], task->units, most, sizeof most));
    return CLI_INPUT;
}

int cli_field_station(cli_run *run, const field_task *task, bool seat, const char *name,
                      size_t chosen[2])
{
    const ebb_room *room = task->room;
    const char *what = seat ? "seat" : "speaker";
    const ebb_station *station = seat ? room->seats : room->speakers;
    const size_t n = seat ? room->n_seats : room->n_speakers;
    chosen[0] = 0;
    chosen[1] = n;
    if (n == 0) {
        cli_error(run, "room \"%s\" has no %s: there is no pressure to show", room->name, what);
        return CLI_INPUT;
    }
    if (name == NULL)
        return CLI_DONE;
    const char **names = EBB_NEW(run->arena, const char *, n);
    if (names == NULL)
        return cli_status(ebb_fail(run->ctx, EBB_E_NOMEM, "no memory for the names"));
    for (size_t i = 0; i < n; i++) {
        names[i] = station[i].name;
        if (strcmp(names[i], name) == 0) {
            chosen[0] = i;
            chosen[1] = 1;
            return CLI_DONE;
        }
    }
    const char *nearest = cli_nearest(name, n, names);
    cli_error(run, "room \"%s\" has no %s \"%s\"; %s \"%s\"%s", room->name, what, name,
              nearest != NULL ? "did you mean" : "its first is",
              nearest != NULL ? nearest : names[0], nearest != NULL ? "?" : "");
    return CLI_INPUT;
}

static int place_speakers(cli_run *run, field_task *task)
{
    size_t chosen[2];
    const int status = cli_field_station(run, task, false, task->speaker, chosen);
    task->picture.first = chosen[0];
    task->picture.n = chosen[1];
    return status;
}

int cli_field_place(cli_run *run, field_task *task)
{
    if (task->picture.file == NULL)
        return CLI_DONE;
    const int status = place_cut(run, task);
    return status == CLI_DONE && task->picture.shown == FIELD_PRESSURE ? place_speakers(run, task)
                                                                       : status;
}
