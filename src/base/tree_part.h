// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef LODECARD_BASE_TREE_PART_H
#define LODECARD_BASE_TREE_PART_H

#include "base/tree.h"

/* What a tree is made of, for those who make it and those who answer for it. */
struct tree_value {
    enum tree_kind kind;
    bool is_true;
    double number;
    char *text;                      /* of a text */
    char *key;                       /* of a member, else NULL */
    const struct tree_value *parent; /* NULL: the root */
    struct tree_value *children;     /* of an array or object */
    size_t count;
};

struct tree {
    char *name;
    struct tree_value root;
};

#endif
