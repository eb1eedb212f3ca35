/* SPDX-License-Identifier: GPL-3.0-or-later */
/* ebb/version.h - version of the library, as macros and at run time. */
#ifndef EBB_VERSION_H
#define EBB_VERSION_H

#include <ebb/status.h>

#ifdef __cplusplus
extern "C" {
#endif

#define EBB_VERSION_MAJOR 0
#define EBB_VERSION_MINOR 1
#define EBB_VERSION_PATCH 0
#define EBB_VERSION "0.1.0"
/* Number of the JSON documents' schema; rises when a field changes meaning or goes. */
#define EBB_JSON_SCHEMA 1

/* EBB_VERSION of the library that runs; a constant string. */
EBB_API const char *ebb_version(void);

#ifdef __cplusplus
}
#endif
#endif
