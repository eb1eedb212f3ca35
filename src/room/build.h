/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * build.h - from checked records to the structs of ebb/job.h and ebb/library.h.
 *
 * Building goes on after a fault, so that all faults of a file are found in one run. What a fault
 * made useless is skipped: a second message about the same slip helps nobody.
 */
#ifndef EBB_ROOM_BUILD_H
#define EBB_ROOM_BUILD_H

#include <ebb/library.h>

#include "record.h"

#define EBB_ROOM_NONE ((size_t)-1)
#define EBB_ROOM_MOST_ORIGINS 64              /* parts of one unit that can be given by name */
#define EBB_ROOM_MOST_BYTES ((size_t)4 << 20) /* of a job or library file */

/* A library that units of a job are taken from; read once, however many are. */
typedef struct ebb_room_shelf {
    struct ebb_room_shelf *next;
    const char *path; /* as the job writes it */
    const char *name; /* as messages call it */
    bool good;        /* it was read without faults */
    size_t n;
    const ebb_unit *unit;
} ebb_room_shelf;

typedef struct ebb_room_builder {
    ebb_room_reader *reader;
    ebb_arena *arena;   /* of what is built */
    ebb_job *job;       /* being filled, NULL when a library is */
    const char *folder; /* where the files of the file are, NULL: nowhere */
    ebb_stock stock;
    size_t n_presets;
    const ebb_room_record *presets;
    size_t *preset_at; /* index of a preset among the constructions of the job, or NONE */
    ebb_room_shelf *shelves;
    size_t n_origins; /* of the unit being built */
    ebb_origin origin[EBB_ROOM_MOST_ORIGINS];
} ebb_room_builder;

/* ---- tools (tool.c) -------------------------------------------------------------------------- */

/* Memory of what is built; on failure the reader's status says so. */
void *ebb_room_keep(ebb_room_builder *builder, size_t count, size_t size);
const char *ebb_room_keep_text(ebb_room_builder *builder, const char *text);
#define EBB_KEEP(builder, type, count) ((type *)ebb_room_keep((builder), (count), sizeof(type)))

/* Is a record without faults: all keys good, none missing, in all its parts? */
bool ebb_room_is_whole(const ebb_room_record *record);
/* A fault at the key if it is given. */
void ebb_room_refuse_key(ebb_room_builder *builder, const ebb_room_record *record, const char *key,
                         const char *why);
/* A fault like that of a missing key, for keys that only some records need. False when it is. */
bool ebb_room_need_key(ebb_room_builder *builder, const ebb_room_record *record, const char *key);
/* Of several keys (ends with NULL) exactly one must be there: that one, or NULL with a fault. */
const ebb_room_field *ebb_room_one_of(ebb_room_builder *builder, const ebb_room_record *record,
                                      const char *const *keys);
/* The number of a key as a whole one, or the fallback; a fault when it is not whole. */
int ebb_room_whole_number(ebb_room_builder *builder, const ebb_room_record *record, const char *key,
                          int fallback);
/* Is this number of a field whole? Records a fault when it is not. */
bool ebb_room_check_whole(ebb_room_builder *builder, const ebb_room_field *field, double number);

/* Things whose first member is their name. */
typedef struct ebb_room_names {
    const char *what; /* "wool" */
    const void *list;
    size_t n, size; /* number of things, and bytes of one */
} ebb_room_names;

/* The thing that is named at `field`; NULL with a fault (which suggests a name that is near) when
 * there is none, and without one when the field is not good. */
const void *ebb_room_find(ebb_room_builder *builder, const ebb_room_field *field,
                          const ebb_room_names *names);

/* ---- other files (beside.c) ------------------------------------------------------------------ */

/* A file that the file being read names. */
typedef struct ebb_room_beside {
    const char *folder; /* where its own files are */
    const char *name;   /* as messages call it */
    char *text;
    size_t length;
} ebb_room_beside;

/* Reads the file named at `field`, below the folder of the file being read; false with a fault. */
bool ebb_room_open_beside(ebb_room_builder *builder, const ebb_room_field *field, size_t most,
                          ebb_room_beside *file);
/* The folder of a path, "." when it has none; new text in arena, NULL: no memory. */
const char *ebb_room_folder_of(ebb_arena *arena, const char *path);
/* Reads the text of another file by a form, with faults of its own place; NULL when it is no
 * mapping. */
const ebb_room_record *ebb_room_read_file(ebb_room_builder *builder, const ebb_room_form *form,
                                          const char *name, const char *text, size_t length);
/* Is the file a job, a library, or neither? By the keys of its outermost mapping. */
typedef enum ebb_room_file_kind {
    EBB_ROOM_IS_OTHER,
    EBB_ROOM_IS_JOB,
    EBB_ROOM_IS_LIBRARY
} ebb_room_file_kind;
ebb_room_file_kind ebb_room_kind_of_file(const char *text, size_t length);

/* ---- the stock (stock.c) --------------------------------------------------------------------- */

/* Fills builder->stock with what the record of a library has, then the presets. A job has none of
 * its own: NULL. */
void ebb_room_build_stock(ebb_room_builder *builder, const ebb_room_record *library);

/* The thing of the stock that is named at `field`; NULL with a fault when there is none. */
const ebb_wool *ebb_room_wool(ebb_room_builder *builder, const ebb_room_field *field);
const ebb_batch *ebb_room_batch(ebb_room_builder *builder, const ebb_room_field *field);
const ebb_strip *ebb_room_strip(ebb_room_builder *builder, const ebb_room_field *field);
/* The same for the material of a panel ("": none, without a fault). */
const ebb_material *ebb_room_material(ebb_room_builder *builder, const ebb_room_field *field);

/* Of each kind the things named by the record of a `use`, else all of the stock. */
void ebb_room_build_use(ebb_room_builder *builder, const ebb_room_record *use, ebb_stock *stock);

/* ---- layers and cabinets (layer.c, board.c, cabinet.c) --------------------------------------- */

/* Layers of a list. False when one of them has faults; *layers is NULL then or incomplete. */
bool ebb_room_build_layers(ebb_room_builder *builder, const ebb_room_field *list,
                           const ebb_layer **layers, size_t *n);
/* Porous matter and grains but for their thickness, over what `layer` holds already. */
void ebb_room_build_porous(ebb_room_builder *builder, const ebb_room_record *record,
                           ebb_layer *layer);
void ebb_room_build_grains(const ebb_room_record *record, ebb_layer *layer);
/* What a layer of wool or grains is when nothing is said. */
extern const ebb_layer ebb_room_plain_wool, ebb_room_plain_grains;

/* The board at `key` with what stands beside it. What neither says is NAN. False with a fault when
 * its density is not known, or with `bends` its modulus. */
bool ebb_room_build_board(ebb_room_builder *builder, const ebb_room_record *record, const char *key,
                          bool bends, ebb_board *board);

/* The cabinet of a unit of given outer sizes, prepared; NULL when it has faults. */
ebb_cabinet *ebb_room_build_cabinet(ebb_room_builder *builder, const ebb_room_record *unit,
                                    const double size[3]);

/* Remembers what a part of the unit being built was taken from. */
void ebb_room_note_origin(ebb_room_builder *builder, const void *part, const char *name,
                          bool measured);

/* ---- constructions and units (assembly.c, table.c, construction.c, unit.c, from.c) ----------- */

/* The assembly of a construction, or of a unit with layers or an admittance, given at `what`; the
 * fallback for `back` is NONE where it must be given. False when it has faults. */
bool ebb_room_build_assembly(ebb_room_builder *builder, const ebb_room_record *record,
                             const ebb_room_field *what, size_t back_fallback,
                             ebb_assembly *assembly);

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

/* The absorbers of a job or library, in *units. */
void ebb_room_build_units(ebb_room_builder *builder, const ebb_room_record *whole, ebb_unit **units,
                          size_t *n);
/* A unit that a library holds; its name is set already. */
void ebb_room_take_unit(ebb_room_builder *builder, const ebb_room_record *record, ebb_unit *unit);

/* ---- the whole (air.c, claim.c, target.c) -------------------------------------------------- */

void ebb_room_build_air(ebb_room_builder *builder, const ebb_room_record *whole, ebb_air *air);

/* The pairs of a good curve. */
const ebb_figure *ebb_room_build_figures(ebb_room_builder *builder, const ebb_room_field *field,
                                         size_t *n);
/* What labels say, and what is to be designed; jobs that targets name are handed to `library`. */
void ebb_room_build_claims(ebb_room_builder *builder, const ebb_room_record *record,
                           ebb_library *library);
void ebb_room_build_targets(ebb_room_builder *builder, const ebb_room_record *record,
                            ebb_library *library);

/* ---- rooms (room.c, shape_read.c, made_of.c, furnish.c, placed.c) -----------------------------
 */

void ebb_room_build_rooms(ebb_room_builder *builder, const ebb_room_record *job);

/* The shape of a room, as far as it is given rightly; NULL with faults. */
struct ebb_room_shape *ebb_room_read_shape(ebb_room_builder *builder,
                                           const ebb_room_record *record);
/* What the surfaces of a room are made of, and its bodies' sides. */
void ebb_room_build_made_of(ebb_room_builder *builder, const ebb_room_record *record,
                            ebb_room *room);
/* Index of a surface by name; NONE with a fault when the room has none, and without one when its
 * surfaces are not known. The second takes the name from the key `on`. */
size_t ebb_room_surface_named(ebb_room_builder *builder, const ebb_place *place, const char *name,
                              const ebb_room *room);
size_t ebb_room_surface_on(ebb_room_builder *builder, const ebb_room_record *record,
                           const ebb_room *room);

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

/* The presets as YAML text (generated from data/constructions.yaml and data/materials.yaml). */
extern const unsigned char ebb_room_presets_text[];
extern const size_t ebb_room_presets_length;
extern const unsigned char ebb_room_stock_text[];
extern const size_t ebb_room_stock_length;

#endif
