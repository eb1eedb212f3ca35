/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef EBB_REPORT_HTML_STYLE_H
#define EBB_REPORT_HTML_STYLE_H

/* The style sheet of the HTML report. A constant string without "</". */
const char *ebb_report_style(void);

#endif
