/* SPDX-License-Identifier: GPL-3.0-or-later */
/* ebb/ebb.h - everything. */
#ifndef EBB_EBB_H
#define EBB_EBB_H

#include <ebb/air.h>
#include <ebb/arena.h>
#include <ebb/bounds.h>
#include <ebb/cabinet.h>
#include <ebb/cache.h>
#include <ebb/craft.h>
#include <ebb/detail.h>
#include <ebb/draw.h>
#include <ebb/field.h>
#include <ebb/file.h>
#include <ebb/job.h>
#include <ebb/judge.h>
#include <ebb/layers.h>
#include <ebb/library.h>
#include <ebb/limits.h>
#include <ebb/mesh.h>
#include <ebb/mid.h>
#include <ebb/plan.h>
#include <ebb/prepare.h>
#include <ebb/process.h>
#include <ebb/quantity.h>
#include <ebb/reach.h>
#include <ebb/report.h>
#include <ebb/reshape.h>
#include <ebb/solid.h>
#include <ebb/space.h>
#include <ebb/status.h>
#include <ebb/unit.h>
#include <ebb/vec3.h>
#include <ebb/verify.h>
#include <ebb/version.h>

#endif
