/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The medium: speed, density and absorption of moist air.
 */
#include <ebb/air.h>

#include <math.h>

#define CELSIUS_ZERO 273.15   /* K */
#define CO2 0.0004            /* mole fraction of carbon dioxide, outdoor air about 2015 */
#define GAS_CONSTANT 8.314510 /* J/(mol K), as in the density formula of 1991 */
#define PRANDTL 0.71          /* common practice, no source */

/* Mole fraction of water vapour, t in C, h 0..1, p in Pa: CIPM-81/91 (Davis, Metrologia 29, 1992),
 * the same that Cramer uses. */
static double vapour(double t, double h, double p)
{
    const double kelvin = t + CELSIUS_ZERO;
    const double saturation =
        exp((1.2378847e-5 * kelvin - 1.9121316e-2) * kelvin + 33.93711047 - 6343.1645 / kelvin);
    const double enhancement = 1.00062 + 3.14e-8 * p + 5.6e-7 * t * t;
    return h * enhancement * saturation / p;
}

/* Cramer, J. Acoust. Soc. Am. 93, 2510-2516 (1993); t in C, p in Pa, x mole fraction of vapour. */
static double speed(double t, double p, double x)
{
    static const double a[16] = {331.5024,  0.603055,  -0.000528, 51.471935, 0.1495874, -0.000782,
                                 -1.82e-7,  3.73e-8,   -2.93e-10, -85.20931, -0.228525, 5.91e-5,
                                 -2.835149, -2.15e-13, 29.179762, 0.000486};
    return a[0] + (a[1] + a[2] * t) * t + (a[3] + (a[4] + a[5] * t) * t) * x +
           (a[6] + (a[7] + a[8] * t) * t) * p + (a[9] + (a[10] + a[11] * t) * t) * CO2 +
           a[12] * x * x + a[13] * p * p + a[14] * CO2 * CO2 + a[15] * x * p * CO2;
}

/* Density by CIPM-81/91 (Davis 1992); constants from memory. Moist air is lighter than dry. */
static double density(double t, double p, double x)
{
    const double kelvin = t + CELSIUS_ZERO, per = p / kelvin;
    const double molar = 28.9635e-3; /* kg/mol, for 400 ppm of carbon dioxide */
    const double compressibility =
        1 -
        per * (1.58123e-6 + (-2.9331e-8 + 1.1043e-10 * t) * t + (5.707e-6 - 2.051e-8 * t) * x +
               (1.9898e-4 - 2.376e-6 * t) * x * x) +
        per * per * (1.83e-11 - 0.765e-8 * x * x);
    return p * molar / (compressibility * GAS_CONSTANT * kelvin) * (1 - 0.3780 * x);
}

/* Sutherland's formula, constants of the 1976 standard atmosphere, from memory; Pa s. */
static double viscosity(double t)
{
    const double kelvin = t + CELSIUS_ZERO;
    return 1.458e-6 * kelvin * sqrt(kelvin) / (kelvin + 110.4);
}

static bool inside(double value, double low, double high)
{
    return value >= low && value <= high; /* false for NaN */
}

static ebb_status check(ebb_ctx *ctx, double t, double h, double p)
{
    if (!inside(t, -10, 45))
        return ebb_fail(ctx, EBB_E_RANGE, "air temperature %g C lies outside -10..45 C", t);
    if (!inside(h, 0, 1))
        return ebb_fail(ctx, EBB_E_RANGE, "air humidity %g %% lies outside 0..100 %%", 100 * h);
    if (!inside(p, 60e3, 110e3))
        return ebb_fail(ctx, EBB_E_RANGE, "air pressure %g kPa lies outside 60..110 kPa", p / 1000);
    if (!inside(t, 0, 30) || !inside(p, 75e3, 102e3) || vapour(t, h, p) >= 0.06)
        ebb_warn_at(ctx, NULL,
                    "the formula for the speed of sound is meant for 0..30 C and 75..102 kPa; it "
                    "was used at %g C, %g %% humidity and %g kPa",
                    t, 100 * h, p / 1000);
    return EBB_OK;
}

ebb_status ebb_air_at(ebb_ctx *ctx, double temperature, double humidity, double pressure,
                      ebb_air *air)
{
    *air = (ebb_air){0};
    const ebb_status status = check(ctx, temperature, humidity, pressure);
    if (status != EBB_OK)
        return status;

    const double x = vapour(temperature, humidity, pressure);
    air->temperature = temperature;
    air->humidity = humidity;
    air->pressure = pressure;
    air->speed = speed(temperature, pressure, x);
    air->density = density(temperature, pressure, x);
    /* The ratio that makes rho c^2 = gamma P0 hold: 1.395..1.402 in 0..30 C, as the
     * tabulated values; the stiffness of an air gap then agrees with the room's air. */
    air->gamma = air->density * air->speed * air->speed / pressure;
    air->viscosity = viscosity(temperature);
    air->prandtl = PRANDTL;
    return EBB_OK;
}

ebb_status ebb_air_given(ebb_ctx *ctx, double given_speed, double given_density, ebb_air *air)
{
    *air = (ebb_air){0};
    if (!inside(given_speed, 300, 380))
        return ebb_fail(ctx, EBB_E_RANGE, "speed of sound %g m/s lies outside 300..380 m/s",
                        given_speed);
    if (!inside(given_density, 0.7, 1.6))
        return ebb_fail(ctx, EBB_E_RANGE, "density of air %g kg/m3 lies outside 0.7..1.6 kg/m3",
                        given_density);
    air->temperature = 20;
    air->humidity = 0.5;
    air->gamma = 1.4;
    air->pressure = given_density * given_speed * given_speed / air->gamma;
    air->speed = given_speed;
    air->density = given_density;
    air->viscosity = viscosity(air->temperature);
    air->prandtl = PRANDTL;
    return EBB_OK;
}

/* ISO 9613-1:1993. The standard's attenuation in dB/m is 10 lg e = 4.343 times the energy
 * coefficient m. */
double ebb_air_loss(const ebb_air *air, double hz)
{
    const double kelvin = air->temperature + CELSIUS_ZERO;
    const double warm = kelvin / 293.15, atm = air->pressure / 101325;
    const double saturation = pow(10, 4.6151 - 6.8346 * pow(273.16 / kelvin, 1.261));
    const double h = 100 * air->humidity * saturation / atm; /* molar concentration, % */
    const double oxygen = atm * (24 + 4.04e4 * h * (0.02 + h) / (0.391 + h));
    const double nitrogen =
        atm / sqrt(warm) * (9 + 280 * h * exp(-4.170 * (pow(warm, -1. / 3) - 1)));
    const double f2 = hz * hz;
    const double relaxation = 0.01275 * exp(-2239.1 / kelvin) / (oxygen + f2 / oxygen) +
                              0.1068 * exp(-3352 / kelvin) / (nitrogen + f2 / nitrogen);
    const double neper =
        f2 * (1.84e-11 / atm * sqrt(warm) + relaxation / (warm * warm * sqrt(warm)));
    return 2 * neper; /* 8.686 dB per neper, 4.343 dB per unit of energy loss */
}
