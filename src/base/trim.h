/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The folder of a cache: what was used last, and what has to go. */
#ifndef EBB_BASE_TRIM_H
#define EBB_BASE_TRIM_H

#include <ebb/arena.h>

/* How the names of entries end: whatever else lies in the folder is not touched. */
#define EBB_BASE_CACHED ".ebb-kept"

/* Marks an entry as used now. */
void ebb_base_touch(const char *path);

/* Removes the entries not used for longest while there are too many, and drafts that a kill has
 * left behind more than a day ago. Failures are of no consequence. */
void ebb_base_trim(ebb_arena *arena, const char *folder);

#endif
