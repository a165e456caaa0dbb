// SPDX-License-Identifier: GPL-3.0-or-later
/* Sources: Multimedia Programming Interface and Data Specifications 1.0 (RIFF WAVE); EBU Tech 3306
 * (RF64); the published descriptions of Wave64, of AIFF-C (1991), of the Core Audio Format and of
 * the .snd header; RFC 9639 (FLAC). */
#include "capture/header.h"

#include <inttypes.h>
#include <math.h>
#include <string.h>

const char header_damage_hint[] = "the file is cut off or damaged: copy or export it again";

#define LENGTH_LIMIT ((uint64_t)1 << 60)
#define CHUNK_LIMIT 4096 /* more chunks ahead of the samples are no header */

static uint64_t get_number(const unsigned char *bytes, size_t count, bool is_big)
{
    uint64_t number = 0;
    for (size_t i = 0; i < count; i++) {
        number = number << 8 | bytes[is_big ? i : count - 1 - i];
    }
    return number;
}

/* The header stops before it says `what`. */
static enum status fail_end(const struct header *header, const char *what)
{
    const char *name = header->container->name;
    const char *path = source_get_path(header->source);
    int64_t end = source_get_length(header->source);
    if (source_get_failure(header->source) != 0) {
        return source_fail(header->source, header->err);
    }
    if (end < 0 && source_get_position(header->source) > SOURCE_JUMP_LIMIT) {
        return fail(header->err, STATUS_INPUT, "give the file by its name instead of a pipe",
            "'%s' (%s) does not come to its %s within 1 MiB", path, name, what);
    }
    if (end < 0) {
        end = source_get_position(header->source);
    }
    return fail(header->err, STATUS_INPUT, header_damage_hint,
        "'%s' (%s) ends at byte %" PRId64 ", before its %s", path, name, end, what);
}

/* Bytes of the header at a place; false at the end of the file. */
static bool get_bytes(struct header *header, int64_t at, unsigned char *bytes, size_t count)
{
    source_set_position(header->source, at);
    return source_read(header->source, bytes, count) == (long)count;
}

/* How chunks are laid out: identifier, length, content; the next begins at a multiple. */
struct chunking {
    size_t id_size;
    const char *id_rest; /* what follows the first four bytes of each identifier that matters */
    size_t length_size;
    uint64_t counted_head; /* bytes of the chunk's own head that its length counts */
    uint64_t multiple;
};

struct chunk {
    unsigned char id[16];
    uint64_t length; /* of the content, as the chunk says */
    int64_t at;      /* of the content */
};

/* The chunk at `*next`, and where the one behind it begins. */
static bool get_chunk(
    struct header *header, const struct chunking *chunking, int64_t *next, struct chunk *chunk)
{
    unsigned char head[24];
    size_t size = chunking->id_size + chunking->length_size;
    if (*next < 0 || !get_bytes(header, *next, head, size)) {
        return false;
    }
    memcpy(chunk->id, head, chunking->id_size);
    uint64_t said = get_number(head + chunking->id_size, chunking->length_size, header->is_big);
    chunk->length = said > chunking->counted_head ? said - chunking->counted_head : 0;
    chunk->at = *next + (int64_t)size;
    uint64_t multiple = chunking->multiple;
    if (chunk->length > LENGTH_LIMIT) {
        *next = -1;
    } else {
        *next = chunk->at + (int64_t)((chunk->length + multiple - 1) / multiple * multiple);
    }
    return true;
}

/* The samples begin at `skip` bytes into the content of this chunk. */
static void set_data(struct header *header, const struct chunking *chunking,
    const struct chunk *chunk, uint64_t skip)
{
    struct length_field *length = &header->length;
    header->container->data_at = chunk->at + (int64_t)skip;
    length->size = chunking->length_size;
    length->at = chunk->at - (int64_t)length->size;
    length->extra = skip + chunking->counted_head;
    length->is_big = header->is_big;
    length->value = chunk->length > skip ? chunk->length - skip : 0;
}

/* What to do with a chunk's content; false when it is cut off. */
struct content {
    const char *id;
    bool (*read)(struct header *header, int64_t at);
};

static bool is_chunk(const struct chunking *chunking, const struct chunk *chunk, const char *id)
{
    return memcmp(chunk->id, id, 4) == 0 &&
           memcmp(chunk->id + 4, chunking->id_rest, chunking->id_size - 4) == 0;
}

static bool read_content(struct header *header, const struct chunking *chunking,
    const struct chunk *chunk, const struct content *contents)
{
    for (; contents->id != NULL; contents++) {
        if (is_chunk(chunking, chunk, contents->id) && !contents->read(header, chunk->at)) {
            return false;
        }
    }
    return true;
}

/* Goes through the chunks from byte `first` on until the samples and their format are found. The
 * format may stand behind the samples. */
static enum status find_data(struct header *header, const struct chunking *chunking, int64_t first,
    const struct content *contents, const char *data_id, uint64_t skip)
{
    int64_t next = first;
    struct chunk chunk;
    const struct container *container = header->container;
    for (int i = 0; i < CHUNK_LIMIT && get_chunk(header, chunking, &next, &chunk); i++) {
        if (!read_content(header, chunking, &chunk, contents)) {
            return fail_end(header, "sample format");
        }
        if (is_chunk(chunking, &chunk, data_id)) {
            set_data(header, chunking, &chunk, skip);
        }
        if (container->data_at >= 0 && container->channels_at >= 0) {
            return STATUS_OK;
        }
    }
    return container->data_at >= 0 ? fail_end(header, "sample format")
                                   : fail_end(header, "samples");
}

/* The length of the whole file by its own account, 0 where it gives none. */
static uint64_t get_outer(struct header *header, int64_t at, size_t size)
{
    unsigned char bytes[8];
    return get_bytes(header, at, bytes, size) ? get_number(bytes, size, header->is_big) : 0;
}

/* fmt chunk of WAV and its like: tag, channels, rate. */
static bool get_wave_format(struct header *header, int64_t at)
{
    unsigned char bytes[8];
    struct container *container = header->container;
    if (!get_bytes(header, at, bytes, sizeof bytes)) {
        return false;
    }
    container->channels_at = at + 2;
    container->channels = get_number(bytes + 2, 2, header->is_big);
    container->rate_at = at + 4;
    container->sample_rate_Hz = (double)get_number(bytes + 4, 4, header->is_big);
    return true;
}

/* ds64 chunk of RF64: the lengths that do not fit 32 bits. */
static bool get_long_lengths(struct header *header, int64_t at)
{
    unsigned char bytes[16];
    if (!get_bytes(header, at, bytes, sizeof bytes)) {
        return false;
    }
    header->long_length = (struct length_field){.at = at + 8,
        .size = 8,
        .value = get_number(bytes + 8, 8, false),
        .outer = get_number(bytes, 8, false) + 8};
    return true;
}

enum status header_read_wave(struct header *header)
{
    static const struct chunking chunking = {4, "", 4, 0, 2};
    static const struct content contents[] = {
        {"fmt ", get_wave_format}, {"ds64", get_long_lengths}, {0}};
    enum status status = find_data(header, &chunking, 12, contents, "data", 0);
    if (status == STATUS_OK) {
        header->length.outer = get_outer(header, 4, 4) + 8;
        if (header->long_length.size > 0 && header->length.value == UINT32_MAX) {
            header->length = header->long_length;
        }
    }
    return status;
}

enum status header_read_wave64(struct header *header)
{
    static const struct chunking chunking = {
        16, "\xF3\xAC\xD3\x11\x8C\xD1\x00\xC0\x4F\x8E\xDB\x8A", 8, 24, 8};
    static const struct content contents[] = {{"fmt ", get_wave_format}, {0}};
    enum status status = find_data(header, &chunking, 40, contents, "data", 0);
    if (status == STATUS_OK) {
        header->length.outer = get_outer(header, 16, 8);
    }
    return status;
}

/* An 80-bit float, most significant byte first: 15-bit exponent, 64-bit mantissa. */
static double get_extended(const unsigned char *bytes)
{
    int exponent = (int)get_number(bytes, 2, true);
    double mantissa = (double)get_number(bytes + 2, 8, true);
    return exponent >= 0x7FFF ? 0 : ldexp(mantissa, exponent - 16383 - 63);
}

/* COMM chunk: channels, frames, bits, rate. */
static bool get_common(struct header *header, int64_t at)
{
    unsigned char bytes[18];
    struct container *container = header->container;
    if (!get_bytes(header, at, bytes, sizeof bytes)) {
        return false;
    }
    container->channels_at = at;
    container->channels = get_number(bytes, 2, true);
    container->rate_at = at + 8;
    container->sample_rate_Hz = get_extended(bytes + 8);
    return true;
}

enum status header_read_aiff(struct header *header)
{
    static const struct chunking chunking = {4, "", 4, 0, 2};
    static const struct content contents[] = {{"COMM", get_common}, {0}};
    unsigned char offset[4];
    enum status status = find_data(header, &chunking, 12, contents, "SSND", 8);
    if (status != STATUS_OK) {
        return status;
    }
    /* offset and block size stand ahead of the samples */
    if (!get_bytes(header, header->container->data_at - 8, offset, sizeof offset)) {
        return fail_end(header, "samples");
    }
    uint64_t skip = get_number(offset, sizeof offset, true);
    struct length_field *length = &header->length;
    header->container->data_at += (int64_t)skip;
    length->extra += skip;
    length->value = length->value > skip ? length->value - skip : 0;
    length->outer = get_outer(header, 4, 4) + 8;
    return STATUS_OK;
}

/* desc chunk: rate (double), format, flags, bytes and frames a packet, channels. */
static bool get_description(struct header *header, int64_t at)
{
    unsigned char bytes[28];
    struct container *container = header->container;
    if (!get_bytes(header, at, bytes, sizeof bytes)) {
        return false;
    }
    uint64_t rate = get_number(bytes, 8, true);
    memcpy(&container->sample_rate_Hz, &rate, sizeof rate);
    container->rate_at = at;
    container->channels_at = at + 24;
    container->channels = get_number(bytes + 24, 4, true);
    return true;
}

enum status header_read_caf(struct header *header)
{
    static const struct chunking chunking = {4, "", 8, 0, 1};
    static const struct content contents[] = {{"desc", get_description}, {0}};
    /* an edit count stands ahead of the samples; a length of -1 means up to the end */
    return find_data(header, &chunking, 8, contents, "data", 4);
}

enum status header_read_au(struct header *header)
{
    unsigned char bytes[24];
    struct container *container = header->container;
    if (!get_bytes(header, 0, bytes, sizeof bytes)) {
        return fail_end(header, "sample format");
    }
    container->data_at = (int64_t)get_number(bytes + 4, 4, header->is_big);
    container->rate_at = 16;
    container->sample_rate_Hz = (double)get_number(bytes + 16, 4, header->is_big);
    container->channels_at = 20;
    container->channels = get_number(bytes + 20, 4, header->is_big);
    header->length = (struct length_field){.at = 8,
        .size = 4,
        .is_big = header->is_big,
        .value = get_number(bytes + 8, 4, header->is_big)};
    return STATUS_OK;
}

/* STREAMINFO, the first metadata block. */
enum status header_read_flac(struct header *header)
{
    unsigned char bytes[22];
    struct container *container = header->container;
    if (!get_bytes(header, 0, bytes, sizeof bytes)) {
        return fail_end(header, "sample format");
    }
    container->rate_at = 18;
    container->sample_rate_Hz = (double)(get_number(bytes + 18, 3, true) >> 4);
    container->channels_at = 20;
    container->channels = (get_number(bytes + 20, 1, true) >> 1 & 7) + 1;
    return STATUS_OK;
}
