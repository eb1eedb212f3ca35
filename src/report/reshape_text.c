/* SPDX-License-Identifier: GPL-3.0-or-later */
/* reshape_text.c - what a change of dimensions does, for a terminal. */
#include "column.h"
#include "words.h"

#include <ebb/report.h>

#include <math.h>

typedef struct writer {
    ebb_report_text_buffer out;
    ebb_arena *arena;
    const ebb_reshaped *map;
    ebb_units units;
} writer;

enum { WHAT, LENGTH, WIDTH, HEIGHT, BARE, LEVEL, DECAY, VERDICT, RIGHT, AFTER, MASS, COLUMNS };
static const struct {
    const char *head;
    size_t width;
} TABLE[COLUMNS] = {
    {"Move", 16}, {"Length", 9},  {"Width", 9}, {"Height", 9}, {"Bare", 5}, {"Level", 5},
    {"Decay", 5}, {"Treated", 7}, {"Right", 5}, {"Left", 5},   {"Mass", 8},
};

static void put_row(writer *w, const char *const cell[COLUMNS])
{
    for (int i = 0; i < COLUMNS; i++) {
        ebb_report_puts(&w->out, i ? " " : "");
        ebb_report_field(&w->out, cell[i] ? cell[i] : "", TABLE[i].width, i > 0 && i != VERDICT);
    }
    ebb_report_puts(&w->out, "\n");
}

static const char *measure(writer *w, double metres)
{
    return ebb_report_must(&w->out, ebb_report_measure(w->arena, metres, w->units));
}

static const char *percent(writer *w, double share)
{
    return ebb_report_must(&w->out, ebb_report_percent(w->arena, share));
}

static const char *move_name(writer *w, const ebb_move *move)
{
    static const char *const axis[3] = {"length", "width", "height"};
    if (move->delta == 0)
        return "as it is";
    return ebb_report_must(
        &w->out,
        ebb_arena_format(w->arena, "%s %s%s", move->surface ? move->surface : axis[move->axis],
                         move->delta > 0 ? "+" : "-", measure(w, fabs(move->delta))));
}

static void move_row(writer *w, const ebb_move *move)
{
    const char *cell[COLUMNS] = {
        [WHAT] = move_name(w, move),
        [LENGTH] = measure(w, move->bare.size[0]),
        [WIDTH] = measure(w, move->bare.size[1]),
        [HEIGHT] = measure(w, move->bare.size[2]),
        [BARE] = percent(w, move->bare.wrong),
        [LEVEL] = percent(w, move->bare.wrong_level),
        [DECAY] = percent(w, move->bare.wrong_decay),
    };
    if (move->treated) {
        cell[VERDICT] = ebb_verdict_name(move->verdict);
        cell[RIGHT] = percent(w, move->right);
        cell[AFTER] = percent(w, move->wrong);
        cell[MASS] = ebb_report_must(&w->out, ebb_report_mass(w->arena, move->mass, w->units));
    }
    put_row(w, cell);
}

static void moves(writer *w)
{
    const char *head[COLUMNS];
    for (int i = 0; i < COLUMNS; i++)
        head[i] = TABLE[i].head;
    put_row(w, head);
    for (int i = 0; i < EBB_REPORT_COLUMNS; i++)
        ebb_report_puts(&w->out, "-");
    ebb_report_puts(&w->out, "\n");
    for (size_t i = 0; i < w->map->n_moves; i++)
        move_row(w, &w->map->move[i]);
    if (w->map->n_moves == 1)
        ebb_report_wrap(&w->out, "",
                        "No move of 0.3 m or 0.6 m lies within the limits of the "
                        "building.");
    if (w->map->room->n_moves > 0)
        ebb_report_wrap(&w->out, "",
                        "Walls move along their normal, outwards with +; the dimensions are those "
                        "of the box around the room.");
}

static void size_line(writer *w, const char *what, const ebb_shape *shape)
{
    ebb_report_putf(&w->out, "%s %s x %s x %s: %s of the cells wrong (level %s, decay %s)\n", what,
                    measure(w, shape->size[0]), measure(w, shape->size[1]),
                    measure(w, shape->size[2]), percent(w, shape->wrong),
                    percent(w, shape->wrong_level), percent(w, shape->wrong_decay));
}

/* What a foot or two is worth here, said in so many words. */
static void worth(writer *w)
{
    const ebb_reshaped *map = w->map;
    double least = map->today.wrong_level;
    for (size_t i = 1; i < map->n_moves; i++)
        least = fmin(least, map->move[i].bare.wrong_level);
    const char *text;
    if (map->n_moves == 1)
        return;
    if (least < map->today.wrong_level / 2)
        text = "A move of 0.3 m or 0.6 m more than halves what is wrong with the bare response.";
    else if (least < 0.9 * map->today.wrong_level)
        text =
            "A move of 0.3 m or 0.6 m mends part of the bare response, but does not halve what is "
            "wrong with it.";
    else
        text = "No move of 0.3 m or 0.6 m does much for the bare response.";
    ebb_report_wrap(&w->out, "", text);
    ebb_report_wrap(&w->out, "",
                    "Decay hangs on the walls and hardly on the dimensions: no move "
                    "replaces treatment. A plan made for one size does not fit another; "
                    "the treated columns have a plan of their own for each.");
}

ebb_status ebb_reshape_text(ebb_ctx *ctx, ebb_arena *arena, const ebb_reshaped *map, int units,
                            const char **text)
{
    writer w = {.out = {.arena = arena}, .arena = arena, .map = map};
    w.units = units < 0 ? map->job->units : (ebb_units)units;
    *text = NULL;
    ebb_report_putf(&w.out, "%s, %s\n", ebb_report_clean(arena, map->room->name, "(unnamed room)"),
                    map->use == EBB_USE_MUSIC ? "music" : "voice");
    if (map->n[0] > 0)
        ebb_report_putf(&w.out, "%zu sizes mapped, bare, at the best seats within their zones\n\n",
                        map->n[0] * map->n[1] * map->n[2]);
    else
        ebb_report_puts(&w.out, "Walls moved, bare, at the best seats within their zones\n\n");
    size_line(&w, "Today      ", &map->today);
    size_line(&w, "Least wrong", &map->best);
    ebb_report_puts(&w.out, "\n");
    moves(&w);
    ebb_report_puts(&w.out, "\n");
    worth(&w);
    if (w.out.failed)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the text");
    *text = w.out.data;
    return EBB_OK;
}
