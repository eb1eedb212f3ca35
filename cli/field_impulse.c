/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Impulse responses from `ebb field`: as sound to listen to, or as a table to plot decays from.
 *
 * The speakers are such as would be flat between the ends of the band in the open, so that what is
 * heard is the room. The upper corner lies a little below the band's end: there the filter is to
 * have taken away what the model does not carry any more.
 */
#include "field.h"

#include <complex.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define CORNER 0.9 /* of the highest frequency */
#define SOUND_RATE 48000
#define TABLE_RATE 4000 /* ten times the highest frequency there can be */
#define SHORTEST 1.0    /* s */
#define LONGEST 8.0
#define LOUDEST 0.5 /* of full scale: room for whatever is done with the file */
#define MOST_PATHS 32

/* ---- what is asked --------------------------------------------------------------------------- */

/* Below an octave the filters of both ends meet, and what rings are they and not the room. */
int cli_field_impulse_ask(cli_run *run, const cli_given *given, field_task *task)
{
    field_impulse *p = &task->impulse;
    p->file = cli_value(given, "impulse");
    p->seat = cli_value(given, "seat");
    if (p->file == NULL && p->seat != NULL)
        return cli_misuse(run, "--seat is for impulse responses: name their file with --impulse");
    if (p->file == NULL)
        return CLI_DONE;
    p->wave = cli_ends_in(p->file, ".wav");
    if (!p->wave && !cli_ends_in(p->file, ".csv"))
        return cli_misuse(run, "--impulse %s: its name must end in .wav or .csv", p->file);
    if (task->to < 2 * task->from)
        return cli_misuse(run,
                          "an impulse response wants an octave at least: --to %g Hz is below "
                          "twice --from %g Hz",
                          task->to, task->from);
    return CLI_DONE;
}

/* A channel for every way is of no use to anybody who has hundreds, and hundreds of megabytes. */
int cli_field_impulse_place(cli_run *run, field_task *task)
{
    field_impulse *p = &task->impulse;
    size_t speakers[2], seats[2];
    if (p->file == NULL)
        return CLI_DONE;
    int status = cli_field_station(run, task, false, task->speaker, speakers);
    if (status == CLI_DONE)
        status = cli_field_station(run, task, true, p->seat, seats);
    if (status != CLI_DONE)
        return status;
    if (speakers[1] * seats[1] > MOST_PATHS) {
        cli_error(run,
                  "from %zu speakers to %zu seats there are more than %d ways: choose with "
                  "--speaker or --seat",
                  speakers[1], seats[1], MOST_PATHS);
        return CLI_INPUT;
    }
    p->speaker = speakers[0];
    p->n_speakers = speakers[1];
    p->first_seat = seats[0];
    p->n_seats = seats[1];
    return CLI_DONE;
}

/* Long enough for the slowest mode to fall by 60 dB, in half seconds. */
static double seconds_for(cli_run *run, const ebb_modes *modes)
{
    double longest = SHORTEST;
    for (size_t i = 0; i < modes->n; i++)
        longest = fmax(longest, modes->mode[i].t60);
    if (longest <= LONGEST)
        return ceil(2 * longest) / 2;
    ebb_warn_at(run->ctx, NULL,
                "the impulse responses end after %g s; the slowest decay takes %.3g s", LONGEST,
                longest);
    return LONGEST;
}

/* ---- files ----------------------------------------------------------------------------------- */

/* Little-endian, whatever the machine. */
static void put_number(FILE *to, uint32_t value, int bytes)
{
    for (int i = 0; i < bytes; i++)
        fputc((int)(value >> (8 * i) & 0xff), to);
}

/* RIFF/WAVE with samples of 32-bit IEEE floating point. The extensible form (Microsoft, "Multiple
 * Channel Audio Data and WAVE Files", 2001) can say that channels are no places of speakers. */
static void put_wave_head(FILE *to, size_t n, size_t n_channels, uint32_t rate)
{
    static const unsigned char is_float[16] = {3,    0, 0, 0,    0, 0,    0x10, 0,
                                               0x80, 0, 0, 0xaa, 0, 0x38, 0x9b, 0x71};
    const uint32_t frame = (uint32_t)(4 * n_channels), data = (uint32_t)n * frame;
    fputs("RIFF", to);
    put_number(to, 4 + 8 + 40 + 8 + 4 + 8 + data, 4);
    fputs("WAVEfmt ", to);
    put_number(to, 40, 4);
    put_number(to, 0xfffe, 2); /* extensible */
    put_number(to, (uint32_t)n_channels, 2);
    put_number(to, rate, 4);
    put_number(to, rate * frame, 4);
    put_number(to, frame, 2);
    put_number(to, 32, 2);
    put_number(to, 22, 2); /* bytes to come */
    put_number(to, 32, 2);
    put_number(to, 0, 4); /* no places */
    fwrite(is_float, 1, sizeof is_float, to);
    fputs("fact", to);
    put_number(to, 4, 4);
    put_number(to, (uint32_t)n, 4);
    fputs("data", to);
    put_number(to, data, 4);
}

/* One factor for all channels, so that seats and speakers can be compared by ear. */
static void put_wave(FILE *to, const field_result *result)
{
    const ebb_impulses *got = &result->impulses;
    const size_t n_channels = got->n_sources * got->n_receivers;
    put_wave_head(to, got->n, n_channels, SOUND_RATE);
    for (size_t i = 0; i < got->n; i++)
        for (size_t p = 0; p < n_channels; p++) {
            const float value = (float)(got->pressure[p * got->n + i] / result->full_scale);
            uint32_t bits;
            memcpy(&bits, &value, sizeof bits);
            put_number(to, bits, 4);
        }
}

/* Inside quotes a quote is doubled (RFC 4180). */
static void put_quoted(FILE *to, const char *text)
{
    for (; *text != '\0'; text++) {
        if (*text == '"')
            fputc('"', to);
        fputc(*text, to);
    }
}

static const char *speaker_of(const field_task *task, size_t path)
{
    return task->room->speakers[task->impulse.speaker + path / task->impulse.n_seats].name;
}

static const char *seat_of(const field_task *task, size_t path)
{
    return task->room->seats[task->impulse.first_seat + path % task->impulse.n_seats].name;
}

/* Names of the columns hold the unit; lines end as the format has it, which every program reads. */
static void put_table(FILE *to, const field_task *task, const field_result *result)
{
    const ebb_impulses *got = &result->impulses;
    const size_t n_paths = got->n_sources * got->n_receivers;
    fputs("\"time, s\"", to);
    for (size_t p = 0; p < n_paths; p++) {
        fputs(",\"", to);
        put_quoted(to, speaker_of(task, p));
        fputs(" to ", to);
        put_quoted(to, seat_of(task, p));
        fputs(", Pa.s/m3\"", to);
    }
    fputs("\r\n", to);
    for (size_t i = 0; i < got->n; i++) {
        fprintf(to, "%.9g", (double)i / result->wish.rate);
        for (size_t p = 0; p < n_paths; p++)
            fprintf(to, ",%.9g", got->pressure[p * got->n + i]);
        fputs("\r\n", to);
    }
}

/* Made whole in memory, as all results are: a full disk leaves the old file as it was. */
static int write_file(cli_run *run, const field_task *task, const field_result *result)
{
    char *text = NULL;
    size_t length = 0;
    FILE *to = open_memstream(&text, &length);
    int status = CLI_FAILED;
    if (to != NULL && task->impulse.wave)
        put_wave(to, result);
    else if (to != NULL)
        put_table(to, task, result);
    const bool whole = to != NULL && !ferror(to);
    if (to != NULL && fclose(to) == 0 && whole)
        status = cli_deliver(run, text, length, task->impulse.file);
    else
        cli_error(run, "no memory for the impulse responses");
    free(text);
    return status;
}

/* ---- calculated and told ----------------------------------------------------------------------
 */

/* Solved after the modes, which say how long it rings. */
int cli_field_impulse(cli_run *run, const field_task *task, field_result *result)
{
    const field_impulse *p = &task->impulse;
    if (p->file == NULL)
        return CLI_DONE;
    ebb_state state = result->state;
    state.sources += p->speaker;
    state.n_sources = p->n_speakers;
    state.receivers += p->first_seat;
    state.n_receivers = p->n_seats;
    result->wish = (ebb_impulse_wish){.rate = p->wave ? SOUND_RATE : TABLE_RATE,
                                      .seconds = seconds_for(run, result->modes),
                                      .low = task->from,
                                      .high = CORNER * task->to,
                                      .flat = true};
    ebb_impulses *got = &result->impulses;
    const int status =
        cli_status(ebb_impulse(run->ctx, run->arena, result->reduced, &state, &result->wish, got));
    if (status != CLI_DONE)
        return status;
    double largest = 0;
    for (size_t i = 0; i < got->n_sources * got->n_receivers * got->n; i++)
        largest = fmax(largest, fabs(got->pressure[i]));
    result->full_scale = largest > 0 ? largest / LOUDEST : 1;
    return write_file(run, task, result);
}

/* The caution stands where the file is named: nobody reads a manual before listening. */
void cli_field_impulse_text(FILE *to, const field_task *task, const field_result *result)
{
    const ebb_impulses *got = &result->impulses;
    const ebb_impulse_wish *wish = &result->wish;
    if (task->impulse.file == NULL)
        return;
    fprintf(to, "\nImpulse responses in %s: %g s at %g samples a second, %g Hz to %g Hz\n",
            task->impulse.file, wish->seconds, wish->rate, wish->low, wish->high);
    for (size_t p = 0; p < got->n_sources * got->n_receivers; p++)
        fprintf(to, "  %zu: %s to %s\n", p + 1, speaker_of(task, p), seat_of(task, p));
    fputs("Pressure for speakers that are flat in this band in the open, Pa.s/m3: for a volume "
          "velocity\nthat jumps by 1 m3/s\n",
          to);
    if (task->impulse.wave)
        fprintf(to,
                "Full scale, 1.0 in the file, is %.6g Pa.s/m3 in every channel\n"
                "Caution: play it quietly first. Low frequencies can harm loudspeakers and ears "
                "before they\nsound loud.\n",
                result->full_scale);
}

json_t *cli_field_impulse_json(const field_task *task, const field_result *result)
{
    const ebb_impulses *got = &result->impulses;
    const ebb_impulse_wish *wish = &result->wish;
    if (task->impulse.file == NULL)
        return json_null();
    json_t *channels = json_array();
    for (size_t p = 0; p < got->n_sources * got->n_receivers; p++)
        json_array_append_new(channels, json_pack("{s:s, s:s}", "source", speaker_of(task, p),
                                                  "receiver", seat_of(task, p)));
    return json_pack("{s:s, s:f, s:f, s:f, s:f, s:o, s:o, s:o}", "file", task->impulse.file,
                     "rate_hz", wish->rate, "seconds", wish->seconds, "low_hz", wish->low,
                     "high_hz", wish->high, "full_scale",
                     task->impulse.wave ? cli_json_number(result->full_scale) : json_null(),
                     "before", cli_json_number(got->before), "channels", channels);
}
