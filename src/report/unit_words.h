/* SPDX-License-Identifier: GPL-3.0-or-later */
/* unit_words.h - units and claims in words; the same wherever they are printed. */
#ifndef EBB_REPORT_UNIT_WORDS_H
#define EBB_REPORT_UNIT_WORDS_H

#include <ebb/report.h>

/* Texts in arena, NULL when memory ran out; the others are constant. */

/* Version, file and air: where a printed answer comes from. */
const char *ebb_report_unit_trace(ebb_arena *arena, const ebb_library *library, ebb_units units);
/* What the columns of the table mean. */
const char *ebb_report_unit_columns(bool inside, bool behind);
/* Peak, half of it, any use, mean. */
const char *ebb_report_unit_band(ebb_arena *arena, const ebb_study *study);
/* Used and available. */
const char *ebb_report_unit_budget(ebb_arena *arena, const ebb_study *study);
/* What nobody has measured. */
const char *ebb_report_unit_closing(void);

/* What is known of a claimed box, and the box found for it. */
const char *ebb_report_claim_head(ebb_arena *arena, const ebb_claim *claim, ebb_units units);
const char *ebb_report_claim_box(ebb_arena *arena, const ebb_box *box, ebb_units units);
/* "coefficient, normal incidence". */
const char *ebb_report_claim_kind(ebb_figure_kind kind);

/* Keys of JSON documents: "normal", "not_found", "rim". Constant. */
const char *ebb_report_figure_key(ebb_figure_kind kind);
const char *ebb_report_claim_key(ebb_claim_word word);
const char *ebb_report_remark_key(ebb_remark_kind kind);

#endif
