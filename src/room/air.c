/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The air of a job or library. */
#include "build.h"

/* Speed and density together describe a measured or published case as it stands; mixed with the
 * other keys they could contradict them. */
static void build_given(ebb_room_builder *builder, const ebb_room_record *record,
                        const ebb_place *place, ebb_air *air)
{
    static const char why[] = "give either this or speed and density";
    ebb_room_refuse_key(builder, record, "temperature", why);
    ebb_room_refuse_key(builder, record, "humidity", why);
    ebb_room_refuse_key(builder, record, "pressure", why);
    (void)ebb_air_given(builder->reader->aside, ebb_room_number(record, "speed", 0),
                        ebb_room_number(record, "density", 0), air);
    (void)ebb_room_take_aside(builder->reader, place);
}

/* Half an air is not built: its faults are told already. */
void ebb_room_build_air(ebb_room_builder *builder, const ebb_room_record *whole, ebb_air *air)
{
    const ebb_room_field *field = ebb_room_get(whole, "air");
    ebb_room_reader *reader = builder->reader;
    double t = 20, h = 0.5, p = 101325; /* a usual room at sea level */
    if (field->given && !(field->good && ebb_room_is_whole(field->record)))
        return;
    if (field->given) {
        const ebb_room_record *record = field->record;
        const bool speed = ebb_room_get(record, "speed")->given;
        const bool density = ebb_room_get(record, "density")->given;
        if (speed != density && ebb_room_is_absent(record, speed ? "density" : "speed"))
            ebb_room_fault(reader, &field->place, "speed and density go together");
        if (speed && density) {
            build_given(builder, record, &field->place, air);
            return;
        }
        t = ebb_room_number(record, "temperature", t);
        h = ebb_room_number(record, "humidity", h);
        p = ebb_room_number(record, "pressure", p);
    }
    (void)ebb_air_at(reader->aside, t, h, p, air);
    (void)ebb_room_take_aside(reader, &field->place);
}
