/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * build.h - from checked records to the structs of ebb/job.h.
 *
 * Building goes on after a fault, so that all faults of a file are found in one run. What a fault
 * made useless is skipped: a second message about the same slip helps nobody.
 */
#ifndef EBB_ROOM_BUILD_H
#define EBB_ROOM_BUILD_H

#include "record.h"

#define EBB_ROOM_NONE ((size_t)-1)

typedef struct ebb_room_builder {
    ebb_room_reader *reader;
    ebb_job *job;       /* being filled */
    const char *folder; /* where the files of the job are, NULL: nowhere */
    size_t n_presets;
    const ebb_room_record *presets;
    size_t *preset_at; /* index of a preset among the constructions of the job, or NONE */
} ebb_room_builder;

/* Memory of the job; on failure the reader's status says so. */
void *ebb_room_keep(ebb_room_builder *builder, size_t count, size_t size);
const char *ebb_room_keep_text(ebb_room_builder *builder, const char *text);
#define EBB_KEEP(builder, type, count) ((type *)ebb_room_keep((builder), (count), sizeof(type)))

/* Is a record without faults: all keys good, none missing, in all its parts? */
bool ebb_room_is_whole(const ebb_room_record *record);
/* A fault at the key if it is given. */
void ebb_room_refuse_key(ebb_room_builder *builder, const ebb_room_record *record, const char *key,
                         const char *why);

/* Of two keys exactly one must be there: that one, or NULL with a fault. */
const ebb_room_field *ebb_room_one_of(ebb_room_builder *builder, const ebb_room_record *record,
                                      const char *a, const char *b);

/* ---- constructions and units (assembly.c, table.c, construction.c, unit.c) ------------------ */

/* The assembly of a construction or unit; the fallback for `back` is NONE where it must be given.
 * False when it has faults. */
bool ebb_room_build_assembly(ebb_room_builder *builder, const ebb_room_record *record,
                             size_t back_fallback, ebb_assembly *assembly);

/* Impedance table from a CSV file named at `field`. */
bool ebb_room_build_table(ebb_room_builder *builder, const ebb_room_field *field,
                          ebb_assembly *assembly);

/* Six octave values or NAN. */
void ebb_room_build_alpha(const ebb_room_record *record, double alpha[EBB_OCTAVES]);

void ebb_room_build_constructions(ebb_room_builder *builder, const ebb_room_record *job);
/* Index of the construction named at `field`, taking in a preset when it is used first; NONE with
 * a fault when there is none of that name. */
size_t ebb_room_construction(ebb_room_builder *builder, const ebb_room_field *field);
/* The same for a preset by name (asserted to exist), for openings without a construction. */
size_t ebb_room_preset(ebb_room_builder *builder, const ebb_place *place, const char *name);

void ebb_room_build_units(ebb_room_builder *builder, const ebb_room_record *job);

/* ---- rooms (room.c, furnish.c, placed.c) ----------------------------------------------------- */

void ebb_room_build_rooms(ebb_room_builder *builder, const ebb_room_record *job);

/* Contents of a room whose geometry is known. */
void ebb_room_build_openings(ebb_room_builder *builder, const ebb_room_record *record,
                             ebb_room *room);
void ebb_room_build_stations(ebb_room_builder *builder, const ebb_room_record *record,
                             ebb_room *room);
void ebb_room_build_placed(ebb_room_builder *builder, const ebb_room_record *record,
                           ebb_room *room);

/* Is the rectangle on the surface, but for 1 mm? Records a fault that says by how much not. */
bool ebb_room_on_surface(ebb_room_builder *builder, const ebb_place *place,
                         const ebb_surface *surface, const double at[2], const double size[2]);

/* The presets as YAML text (generated from data/constructions.yaml). */
extern const unsigned char ebb_room_presets_text[];
extern const size_t ebb_room_presets_length;

#endif
