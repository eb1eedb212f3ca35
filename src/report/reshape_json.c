/* SPDX-License-Identifier: GPL-3.0-or-later */
/* reshape_json.c - what a change of dimensions does, for programs; see docs/json.md. */
#include "json.h"

#include <ebb/version.h>

static void set_shape(ebb_report_json_maker *m, json_t *object, const ebb_shape *shape)
{
    ebb_report_json_set(m, object, "size_m", ebb_report_json_numbers(m, 3, shape->size));
    ebb_report_json_set(m, object, "wrong", ebb_report_json_number(shape->wrong));
    ebb_report_json_set(m, object, "wrong_level", ebb_report_json_number(shape->wrong_level));
    ebb_report_json_set(m, object, "wrong_decay", ebb_report_json_number(shape->wrong_decay));
}

static json_t *shape_object(ebb_report_json_maker *m, const ebb_shape *shape)
{
    json_t *object = json_object();
    set_shape(m, object, shape);
    return object;
}

static json_t *move_object(ebb_report_json_maker *m, const ebb_move *move)
{
    static const char *const axis[3] = {"length", "width", "height"};
    json_t *object = json_object();
    ebb_report_json_set(m, object, "moves",
                        move->delta == 0
                            ? json_null()
                            : json_string(move->surface ? move->surface : axis[move->axis]));
    ebb_report_json_set(m, object, "by_m", ebb_report_json_number(move->delta));
    set_shape(m, object, &move->bare);
    if (!move->treated) {
        ebb_report_json_set(m, object, "treated", json_null());
        return object;
    }
    json_t *treated = json_object();
    ebb_report_json_set(m, treated, "verdict", json_string(ebb_verdict_name(move->verdict)));
    ebb_report_json_set(m, treated, "right_share", ebb_report_json_number(move->right));
    ebb_report_json_set(m, treated, "wrong_after", ebb_report_json_number(move->wrong));
    ebb_report_json_set(m, treated, "mass_kg", ebb_report_json_number(move->mass));
    ebb_report_json_set(m, object, "treated", treated);
    return object;
}

static json_t *map_object(ebb_report_json_maker *m, const ebb_reshaped *map)
{
    static const char *const axis[3] = {"length_m", "width_m", "height_m"};
    const size_t n = map->n[0] * map->n[1] * map->n[2];
    json_t *object = json_object(), *wrong = json_array();
    for (int d = 0; d < 3; d++)
        ebb_report_json_set(m, object, axis[d],
                            ebb_report_json_numbers(m, map->n[d], map->value[d]));
    for (size_t i = 0; i < n; i++)
        ebb_report_json_push(m, wrong, ebb_report_json_number(map->shape[i].wrong));
    ebb_report_json_set(m, object, "wrong", wrong);
    return object;
}

static json_t *head(ebb_report_json_maker *m, const ebb_reshaped *map)
{
    json_t *object = json_object(), *inputs = json_object();
    ebb_report_json_set(m, inputs, "job", ebb_report_json_text(m, map->job->file));
    ebb_report_json_set(m, inputs, "room", ebb_report_json_text(m, map->room->name));
    ebb_report_json_set(m, object, "version", json_string(ebb_version()));
    ebb_report_json_set(m, object, "schema", json_integer(1));
    ebb_report_json_set(m, object, "command", json_string("reshape"));
    ebb_report_json_set(m, object, "inputs", inputs);
    return object;
}

ebb_status ebb_reshape_json(ebb_ctx *ctx, ebb_arena *arena, const ebb_reshaped *map,
                            const char **text)
{
    ebb_report_json_maker m = {.arena = arena};
    json_t *document = json_object(), *moves = json_array();
    for (size_t i = 0; i < map->n_moves; i++)
        ebb_report_json_push(&m, moves, move_object(&m, &map->move[i]));
    ebb_report_json_set(&m, document, "ebb", head(&m, map));
    ebb_report_json_set(&m, document, "units", json_string("SI"));
    ebb_report_json_set(&m, document, "use",
                        json_string(map->use == EBB_USE_MUSIC ? "music" : "voice"));
    ebb_report_json_set(&m, document, "today", shape_object(&m, &map->today));
    ebb_report_json_set(&m, document, "best", shape_object(&m, &map->best));
    ebb_report_json_set(&m, document, "moves", moves);
    ebb_report_json_set(&m, document, "map", map_object(&m, map));
    ebb_report_json_set(&m, document, "warnings", ebb_report_json_warnings(&m, ctx));
    return ebb_report_json_print(ctx, &m, document, text);
}
