/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/air.h - the medium.
 */
#ifndef EBB_AIR_H
#define EBB_AIR_H

#include <ebb/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Properties of air, all SI. Plain data. */
typedef struct ebb_air {
    double temperature; /* degrees C */
    double humidity;    /* relative, 0..1 */
    double pressure;    /* static pressure, Pa */
    double speed;       /* speed of sound c, m/s */
    double density;     /* rho, kg/m3 */
    double gamma;       /* ratio of specific heats */
    double viscosity;   /* eta, Pa s */
    double prandtl;     /* Prandtl number */
} ebb_air;

/*
 * Air from temperature (0..30 C), relative humidity (0..1), static pressure (75..102 kPa).
 * c: Cramer 1993 (JASA 93, 2510-2516) with 400 ppm CO2. rho: CIPM-81/91 (Davis 1992).
 * Outside the range of Cramer's formula the result is still given, with a warning in ctx, for
 * -10..45 C and 60..110 kPa; beyond that EBB_E_RANGE.
 */
EBB_API ebb_status ebb_air_at(ebb_ctx *ctx, double temperature, double humidity, double pressure,
                              ebb_air *air);

/* Air with speed (300..380 m/s) and density (0.7..1.6 kg/m3) given; pressure is set from
 * rho c^2 = gamma P0 with gamma 1.4, the rest to values at 20 C. */
EBB_API ebb_status ebb_air_given(ebb_ctx *ctx, double speed, double density, ebb_air *air);

/* Intensity absorption of air, m in 1/m (energy), at frequency hz > 0: ISO 9613-1:1993. */
EBB_API double ebb_air_loss(const ebb_air *air, double hz);

#ifdef __cplusplus
}
#endif
#endif
