/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The one table of units, shared by reading and printing. */
#ifndef EBB_BASE_UNIT_TABLE_H
#define EBB_BASE_UNIT_TABLE_H

#include <ebb/quantity.h>

/* SI value = (number + shift) * times / over. Two factors instead of one: both are exact for the
 * usual units, so that 350 mm and 0.35 m are the same double. */
typedef struct ebb_base_unit {
    ebb_quantity_kind kind;
    const char *name; /* in the spelling of reading: "m2", "Pa.s/m" */
    double times, over, shift;
} ebb_base_unit;

/* The row of a unit of this kind; NULL when there is none. */
const ebb_base_unit *ebb_base_unit_find(ebb_quantity_kind kind, const char *name);
/* The same, whatever the case of its letters, for suggestions. */
const ebb_base_unit *ebb_base_unit_like(ebb_quantity_kind kind, const char *name);

#endif
