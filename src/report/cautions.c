/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * cautions.c - what every report says before anything is built.
 *
 * Sources are named in the text. "From memory" marks values that were not read in the source
 * itself; "practice" what the trade does without a source.
 */
#include <ebb/report.h>

static const char *const CAUTIONS[] = {
    "This report does not replace local codes, permits or licensed practice. Where they differ "
    "from "
    "it, they hold.",
    "Weight: units hang on walls, ceilings and anchors and rest on floors that were built for "
    "other "
    "loads. An engineer checks each of them, point loads and overhead hanging above all, before "
    "anything is bought. Usual floor loads are 1.92 kPa (40 psf) in dwellings and 1.44 kPa (30 "
    "psf) "
    "in sleeping rooms (US practice after ASCE 7, read at second hand) and 1.5 to 2.0 kPa "
    "(Eurocode category A, from memory). A design factor of at least 5 for loads overhead is "
    "practice, not a code.",
    "Lifting: a heavy unit is carried and hung by two people or more, with the tools for it.",
    "Exits, doors, escape paths, smoke alarms, heaters and ventilation openings stay free; nothing "
    "in a plan may block them.",
    "Fire: linings and fillings must meet the reaction-to-fire class that the building asks for. "
    "Activated carbon burns, can heat itself, smoulders with little flame and gives off carbon "
    "monoxide; keep it from heat, solvents and strong oxidisers (suppliers' safety pages).",
    "Oxygen: activated carbon takes oxygen from the air, quickly when wet. A closed space with "
    "carbon is treated as dangerous until it has been ventilated and tested (trade association and "
    "suppliers); air below 19.5 % or above 23.5 % oxygen is hazardous (29 CFR 1910.146).",
    "Dust and fibres: wear breathing, eye and skin protection when cutting mineral or glass fibre "
    "and when filling carbon, and enclose them in the finished unit. Limits at work in the USA: "
    "fibre dust 15 mg/m\u00b3 total and 5 mg/m\u00b3 respirable (OSHA), 5 mg/m\u00b3 total and 3 "
    "fibres/cm\u00b3 (NIOSH).",
    "Air to breathe: a sealed room needs ventilation. Music, theatre and dance rooms are given 5 "
    "L/s "
    "(10 cfm) a person and 0.3 L/s for each m\u00b2 of floor (ASHRAE 62.1-2016). One seated person "
    "in "
    "a sealed room of 30 m\u00b3 raises carbon dioxide by about 600 ppm an hour (our sum, with 18 "
    "litres an hour from memory).",
    "Hearing: measuring sweeps and tones at low frequencies are louder than they seem. Keep to 85 "
    "dBA over 8 hours, halved in time for every 3 dB more (NIOSH); the European action values are "
    "80 "
    "and 85 dBA, the limit 87 dBA (directive 2003/10/EC). Turn the level up from silence, leave "
    "the "
    "room during loud sweeps, wear protection.",
    "Electricity: new or moved wiring, sockets and lamps behind or inside units are work for a "
    "licensed electrician; keep units clear of hot lamps and transformers.",
};

const char *const *ebb_cautions(size_t *n)
{
    *n = sizeof CAUTIONS / sizeof CAUTIONS[0];
    return CAUTIONS;
}
