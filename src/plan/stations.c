/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Where sources and receivers stand, and where else they may stand within their zones.
 *
 * Music: every speaker, three heads per seat (centre, left, right of the line of sight). Voice: the
 * talker at the first seat in several positions; microphone and listener in front.
 * Speakers move together, as do seats, mirrored about the line between them: a stereo pair stays a
 * pair.
 */
#include "stage.h"

#include <math.h>

#define OPTIONS 9         /* 3 x 3 moves of a zone */
#define TALKERS 5         /* positions of a talker: centre, forward, back, left, right */
#define WALL_DISTANCE 0.1 /* m, no point is put closer to a surface */

typedef struct direction {
    double x, y;
} direction;

static direction unit(double x, double y)
{
    double length = hypot(x, y);
    return length > 1e-9 ? (direction){x / length, y / length} : (direction){1, 0};
}

static direction centroid(size_t n, const ebb_station *stations)
{
    direction sum = {0, 0};
    for (size_t i = 0; i < n; i++) {
        sum.x += stations[i].at.x / (double)n;
        sum.y += stations[i].at.y / (double)n;
    }
    return sum;
}

/* From the seats to the speakers; along the room's longer side when there are none. */
static direction line_of_sight(const ebb_room *room)
{
    if (room->n_seats == 0 || room->n_speakers == 0)
        return room->size[0] >= room->size[1] ? (direction){1, 0} : (direction){0, 1};
    direction seats = centroid(room->n_seats, room->seats);
    direction speakers = centroid(room->n_speakers, room->speakers);
    return unit(speakers.x - seats.x, speakers.y - seats.y);
}

/* Move of one station in option o: fractions of its zone along and across the line of sight. The
 * step across changes sign with the side on which it stands; on the line itself there is none. */
static ebb_vec3 moved(const ebb_station *station, size_t option, direction sight, direction middle)
{
    static const double fraction[3] = {0, -0.7, 0.7};
    double ahead = fraction[option % 3], across = fraction[option / 3];
    double side = -(station->at.x - middle.x) * sight.y + (station->at.y - middle.y) * sight.x;
    double sign = side > 0.05 ? 1 : side < -0.05 ? -1 : 0;
    ebb_vec3 at = station->at;
    at.x += station->zone * (ahead * sight.x - across * sign * sight.y);
    at.y += station->zone * (ahead * sight.y + across * sign * sight.x);
    return at;
}

static size_t option_count(size_t n, const ebb_station *stations)
{
    for (size_t i = 0; i < n; i++)
        if (stations[i].zone > 0)
            return OPTIONS;
    return 1;
}

/* Into the room's own coordinates and at least WALL_DISTANCE from every surface; *pushed when that
 * moved it by more than a centimetre. */
static ebb_vec3 inside(const ebb_room *room, ebb_vec3 at, bool *pushed)
{
    double value[3] = {at.x - room->origin.x, at.y - room->origin.y, at.z - room->origin.z};
    for (int d = 0; d < 3; d++) {
        double kept = fmin(fmax(value[d], WALL_DISTANCE), room->size[d] - WALL_DISTANCE);
        *pushed |= fabs(kept - value[d]) > 0.01;
        value[d] = kept;
    }
    return (ebb_vec3){value[0], value[1], value[2]};
}

/* Towards a place that is known to be good until the point is in the air and clear of the walls: a
 * slope, an inner corner or a column may be in the way. */
static ebb_vec3 drawn_in(const ebb_room *room, ebb_vec3 at, ebb_vec3 towards, bool *pushed)
{
    ebb_vec3 to = inside(room, at, pushed);
    const ebb_vec3 from = to;
    for (int i = 1; room->shaped && i <= 20 && !ebb_room_holds(room, to, WALL_DISTANCE); i++) {
        double share = i / 20.0;
        to = (ebb_vec3){from.x + share * (towards.x - room->origin.x - from.x),
                        from.y + share * (towards.y - room->origin.y - from.y),
                        from.z + share * (towards.z - room->origin.z - from.z)};
        *pushed = true;
    }
    return to;
}

/* All positions of a set of stations in all options, job coordinates. */
static ebb_vec3 *all_moves(ebb_arena *arena, size_t n, const ebb_station *stations,
                           size_t n_options, direction sight, direction middle)
{
    ebb_vec3 *at = EBB_NEW(arena, ebb_vec3, n_options * n);
    for (size_t o = 0; at && o < n_options; o++)
        for (size_t i = 0; i < n; i++)
            at[o * n + i] = moved(&stations[i], o, sight, middle);
    return at;
}

/* Every source to every receiver. */
static bool all_paths(ebb_arena *arena, ebb_stations *s)
{
    s->n_paths = s->n_sources * s->n_receivers;
    s->shape[0] = s->n_sources;
    s->shape[1] = s->n_receivers;
    s->path = ebb_arena_alloc(arena, s->n_paths, sizeof *s->path);
    for (size_t i = 0; s->path && i < s->n_paths; i++) {
        s->path[i][0] = i / s->n_receivers;
        s->path[i][1] = i % s->n_receivers;
    }
    return s->path != NULL;
}

/* ---- music -------------------------------------------------------------------------------------
 */

static ebb_status music(ebb_arena *arena, const ebb_room *room, const ebb_limits *limits,
                        ebb_stations *s)
{
    static const char *const where[3] = {"", ", head to the left", ", head to the right"};
    direction sight = line_of_sight(room);
    s->n_sources = room->n_speakers;
    s->n_receivers = 3 * room->n_seats;
    s->source = EBB_NEW(arena, ebb_vec3, s->source_options * s->n_sources);
    s->receiver = EBB_NEW(arena, ebb_vec3, s->receiver_options * s->n_receivers);
    s->source_names = EBB_NEW(arena, const char *, s->n_sources);
    s->receiver_names = EBB_NEW(arena, const char *, s->n_receivers);
    if (!s->source || !s->receiver || !s->source_names || !s->receiver_names ||
        !all_paths(arena, s))
        return EBB_E_NOMEM;
    bool pushed = false;
    for (size_t i = 0; i < s->source_options * s->n_sources; i++)
        s->source[i] =
            drawn_in(room, s->speaker_at[i], room->speakers[i % s->n_sources].at, &pushed);
    for (size_t i = 0; i < s->receiver_options * room->n_seats; i++)
        for (size_t head = 0; head < 3; head++) {
            double side = head == 0 ? 0 : head == 1 ? 1 : -1;
            ebb_vec3 at = s->seat_at[i];
            at.x += -side * limits->head_offset * sight.y;
            at.y += side * limits->head_offset * sight.x;
            s->receiver[3 * i + head] =
                drawn_in(room, at, room->seats[i % room->n_seats].at, &pushed);
        }
    for (size_t i = 0; i < s->n_sources; i++)
        s->source_names[i] = room->speakers[i].name;
    for (size_t i = 0; i < s->n_receivers; i++)
        s->receiver_names[i] =
            ebb_arena_format(arena, "%s%s", room->seats[i / 3].name, where[i % 3]);
    if (pushed)
        s->squeeze = "a seat or speaker zone reaches so close to a wall that a position was kept "
                     "10 cm away from it";
    return EBB_OK;
}

/* ---- voice -------------------------------------------------------------------------------------
 */

/* The way with most space ahead of the talker: that is where people face and microphones stand. */
static direction facing(const ebb_room *room, ebb_vec3 seat)
{
    double x = seat.x - room->origin.x, y = seat.y - room->origin.y;
    const double space[4] = {room->size[0] - x, x, room->size[1] - y, y};
    static const direction way[4] = {{1, 0}, {-1, 0}, {0, 1}, {0, -1}};
    int best = 0;
    for (int i = 1; i < 4; i++)
        if (space[i] > space[best] + 1e-9)
            best = i;
    return way[best];
}

/* A talker's own microphone and listener: only those pairs are judged. */
static bool own_paths(ebb_arena *arena, ebb_stations *s)
{
    s->n_paths = s->n_receivers;
    s->shape[0] = 1;
    s->shape[1] = s->n_paths;
    s->path = ebb_arena_alloc(arena, s->n_paths, sizeof *s->path);
    for (size_t i = 0; s->path && i < s->n_paths; i++) {
        s->path[i][0] = i / 2;
        s->path[i][1] = i;
    }
    return s->path != NULL;
}

/* Talker positions around a seat, and microphone and listener in front of each. */
static void talkers(const ebb_room *room, const ebb_limits *limits, ebb_vec3 seat, direction way,
                    ebb_vec3 *source, ebb_vec3 *receiver, bool *pushed)
{
    static const double ahead[TALKERS] = {0, 1, -1, 0, 0}, across[TALKERS] = {0, 0, 0, 1, -1};
    const double distance[2] = {limits->voice_mic, limits->voice_listener};
    for (int i = 0; i < TALKERS; i++) {
        double a = limits->voice_move * ahead[i], b = limits->voice_move * across[i];
        ebb_vec3 at = {seat.x + a * way.x - b * way.y, seat.y + a * way.y + b * way.x, seat.z};
        source[i] = drawn_in(room, at, seat, pushed);
        for (int j = 0; j < 2; j++) {
            ebb_vec3 to = {at.x + distance[j] * way.x, at.y + distance[j] * way.y, at.z};
            receiver[2 * i + j] = drawn_in(room, to, at, pushed);
        }
    }
}

static ebb_status voice(ebb_arena *arena, const ebb_room *room, const ebb_limits *limits,
                        ebb_stations *s)
{
    static const char *const names[2 * TALKERS] = {"microphone",
                                                   "listener",
                                                   "microphone, talker forward",
                                                   "listener, talker forward",
                                                   "microphone, talker back",
                                                   "listener, talker back",
                                                   "microphone, talker to the left",
                                                   "listener, talker to the left",
                                                   "microphone, talker to the right",
                                                   "listener, talker to the right"};
    direction way = facing(room, room->seats[0].at);
    s->n_sources = TALKERS;
    s->n_receivers = 2 * TALKERS;
    s->tied = true;
    s->source_options = s->receiver_options;
    s->source = EBB_NEW(arena, ebb_vec3, s->n_sources * s->source_options);
    s->receiver = EBB_NEW(arena, ebb_vec3, s->n_receivers * s->receiver_options);
    s->source_names = EBB_NEW(arena, const char *, 1);
    s->receiver_names = EBB_NEW(arena, const char *, s->n_receivers);
    if (!s->source || !s->receiver || !s->source_names || !s->receiver_names ||
        !own_paths(arena, s))
        return EBB_E_NOMEM;
    bool pushed = false;
    for (size_t o = 0; o < s->receiver_options; o++)
        talkers(room, limits, s->seat_at[o * room->n_seats], way, s->source + o * s->n_sources,
                s->receiver + o * s->n_receivers, &pushed);
    s->source_names[0] = "talker";
    for (size_t i = 0; i < s->n_receivers; i++)
        s->receiver_names[i] = names[i];
    if (pushed)
        s->squeeze = "there is not enough room in front of the talker for microphone and listener "
                     "at their usual distances; they stand as far away as the room lets them";
    return EBB_OK;
}

ebb_status ebb_stations_make(ebb_ctx *ctx, ebb_arena *arena, const ebb_job *job,
                             const ebb_room *room, const ebb_limits *limits, ebb_use use,
                             ebb_stations *stations)
{
    (void)job;
    *stations = (ebb_stations){.use = use};
    if (room->n_seats == 0)
        return ebb_fail(ctx, EBB_E_INPUT, "room %s has no seat: nobody to judge it for",
                        room->name);
    if (use == EBB_USE_MUSIC && room->n_speakers == 0)
        return ebb_fail(ctx, EBB_E_INPUT, "room %s has no speaker, which music needs", room->name);
    direction sight = line_of_sight(room), middle = centroid(room->n_seats, room->seats);
    stations->source_options = option_count(room->n_speakers, room->speakers);
    stations->receiver_options = option_count(room->n_seats, room->seats);
    stations->speaker_at =
        all_moves(arena, room->n_speakers, room->speakers, stations->source_options, sight, middle);
    stations->seat_at =
        all_moves(arena, room->n_seats, room->seats, stations->receiver_options, sight, middle);
    if (!stations->speaker_at || !stations->seat_at)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    ebb_status status = use == EBB_USE_MUSIC ? music(arena, room, limits, stations)
                                             : voice(arena, room, limits, stations);
    return status == EBB_OK ? status : ebb_fail(ctx, status, "out of memory");
}
