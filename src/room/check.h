/* SPDX-License-Identifier: GPL-3.0-or-later */
/* check.h - the checker proper: YAML nodes against rules. */
#ifndef EBB_ROOM_CHECK_H
#define EBB_ROOM_CHECK_H

#include "record.h"

#include <yaml.h>

typedef struct ebb_room_checker {
    ebb_room_reader *reader;
    yaml_document_t *document;
} ebb_room_checker;

/* Checks a mapping node against a form and fills the record. place->key may be NULL (the root). */
void ebb_room_check_mapping(ebb_room_checker *checker, const ebb_room_form *form,
                            const yaml_node_t *node, const ebb_place *place,
                            ebb_room_record *record);

/* Checks a value against a rule; field->rule and field->place are set already. */
void ebb_room_check_value(ebb_room_checker *checker, const yaml_node_t *node,
                          ebb_room_field *field);

/* The same for values that are no mapping nor list of mappings (value.c, value_list.c). */
void ebb_room_check_leaf(ebb_room_checker *checker, const yaml_node_t *node, ebb_room_field *field);
void ebb_room_check_items(ebb_room_checker *checker, const yaml_node_t *node,
                          ebb_room_field *field);
void ebb_room_check_text(ebb_room_checker *checker, const yaml_node_t *node, ebb_room_field *field);

/* A scalar that is not empty; anything else is recorded as a fault. */
bool ebb_room_is_value(ebb_room_checker *checker, const yaml_node_t *node,
                       const ebb_room_rule *rule, const ebb_place *place);
/* Records "value: why; accepted is ...". */
void ebb_room_refuse(ebb_room_checker *checker, const yaml_node_t *node, const ebb_room_rule *rule,
                     const ebb_place *place, const char *why);
/* One quantity within the range of the rule, one of its words; false with a fault. */
bool ebb_room_read_quantity(ebb_room_checker *checker, const yaml_node_t *node,
                            const ebb_room_rule *rule, const ebb_place *place, double *value);
bool ebb_room_read_word(ebb_room_checker *checker, const yaml_node_t *node,
                        const ebb_room_rule *rule, const ebb_place *place, size_t *index);

/* Text of a scalar key. */
const char *ebb_room_key_text(const yaml_node_t *key);
/* Is a key a word, and not the merge key of YAML 1.1? Records a fault when it is not. */
bool ebb_room_is_usable_key(ebb_room_checker *checker, const yaml_node_t *key,
                            const ebb_place *place);

/* Places of nodes. */
ebb_place ebb_room_node_place(ebb_room_checker *checker, const yaml_node_t *node,
                              const char *parent, const char *key);
/* The place of item i of a list. */
ebb_place ebb_room_item_place(ebb_room_checker *checker, const yaml_node_t *node,
                              const char *parent, size_t i);

/* Node of item i of a sequence, and how many items it has. */
const yaml_node_t *ebb_room_item(ebb_room_checker *checker, const yaml_node_t *list, size_t i);
size_t ebb_room_items(const yaml_node_t *list);

/* A value that is absent: "key:" and nothing, "~" or "null". */
bool ebb_room_is_empty(const yaml_node_t *node);

/* Records that a value has the wrong shape. */
void ebb_room_wrong_shape(ebb_room_checker *checker, const yaml_node_t *node,
                          const ebb_room_rule *rule, const ebb_place *place);

/* Is the number of items within the rule? Records a fault when it is not. */
bool ebb_room_right_count(ebb_room_checker *checker, size_t n, const ebb_room_rule *rule,
                          const ebb_place *place);

/* Looks at one more value; false when there have been too many. */
bool ebb_room_visit(ebb_room_checker *checker, const ebb_place *place);

#endif
