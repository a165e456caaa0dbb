// SPDX-License-Identifier: GPL-3.0-or-later
#include "virtual/ring.h"

#include <stdio.h>

#include "base/file.h"
#include "base/memory.h"
#include "setup/yaml.h"
#include "virtual/ring_check.h"
#include "virtual/ring_schema.h"
#include "virtual/ring_series.h"

enum status ring_read_bytes(
    const char *name, const char *bytes, size_t length, struct ring *ring, struct error *err)
{
    struct ring_schema schema;
    struct ring made = {.recording = {.encoding = AUDIO_PCM24, .terminated = RING_PICKUP}};
    ring_schema_init(&schema);
    enum status status = schema_read_bytes(name, bytes, length, schema.top, ring_check, &made, err);
    if (status && err)
        snprintf(err->hint, sizeof err->hint,
            "docs/virtual.md explains every key; 'lodecard virtual --example' shows them");
    made.file = memory_copy_text(name);
    if (!status && !made.file)
        status = fail_memory(err);
    if (status)
        ring_clear(&made);
    else
        *ring = made;
    return status;
}

enum status ring_read(const char *path, struct ring *ring, struct error *err)
{
    char *bytes = NULL;
    size_t length = 0;
    enum status status = file_read(path, YAML_SIZE_LIMIT, &bytes, &length, err);
    if (!status)
        status = ring_read_bytes(path, bytes, length, ring, err);
    memory_destroy(bytes);
    return status;
}

void ring_clear(struct ring *ring)
{
    struct ring_schema schema;
    ring_schema_init(&schema);
    schema_clear(schema.top, ring);
    memory_destroy(ring->file);
    ring_series_clear(&ring->field);
    ring_series_clear(&ring->flux_density);
    ring_series_clear(&ring->voltage);
    *ring = (struct ring){0};
}

const struct rig_input *ring_get_input(const struct ring *ring, enum ring_input input)
{
    return input == RING_EXCITATION ? &ring->rig.excitation : &ring->rig.pickup;
}

const struct winding *ring_get_winding(const struct ring *ring)
{
    return ring->specimen.winding.is_present ? &ring->specimen.winding : &ring->rig.winding;
}

enum dimension ring_get_dimension(const struct ring *ring, enum ring_input input)
{
    return input_quantity_get_dimension(ring_get_input(ring, input)->quantity);
}

bool ring_is_voltage(const struct ring *ring)
{
    return ring->recording.kind == RING_KIND_LOOPBACK || ring->recording.kind == RING_KIND_TONE;
}

const char *ring_get_extension(const struct ring *ring)
{
    return schema_find_word(ring_format_words, (int)ring->recording.format);
}
