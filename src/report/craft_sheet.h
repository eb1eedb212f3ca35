/* SPDX-License-Identifier: GPL-3.0-or-later */
/* craft_sheet.h - the build sheet of a picked box. */
#ifndef EBB_REPORT_CRAFT_SHEET_H
#define EBB_REPORT_CRAFT_SHEET_H

#include "column.h"

#include <ebb/report.h>

/* What all parts of the text need. */
typedef struct ebb_report_craft_writer {
    ebb_report_text_buffer out;
    ebb_arena *arena;
    ebb_units units;
} ebb_report_craft_writer;

void ebb_report_craft_sheet(ebb_report_craft_writer *w, const ebb_craft *craft,
                            const ebb_craft_pick *pick);

#endif
