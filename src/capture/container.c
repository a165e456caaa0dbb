// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/container.h"

#include <inttypes.h>
#include <string.h>

#include "capture/header.h"

#define RATE_LIMIT 1e9
#define UNKNOWN_LENGTH ((int64_t)1 << 60) /* what a mended 8-byte length says of a stream */

struct form {
    const char *name;
    const char *magic; /* at the first byte */
    size_t magic_size;
    const char *kind; /* at kind_at */
    size_t kind_at;
    size_t kind_size;
    bool is_streamable;
    bool is_big;
    enum status (*read)(struct header *header);
};

static const struct form form_list[] = {
    {"WAV", "RIFF", 4, "WAVE", 8, 4, true, false, header_read_wave},
    {"WAV", "RIFX", 4, "WAVE", 8, 4, true, true, header_read_wave},
    {"RF64", "RF64", 4, "WAVE", 8, 4, true, false, header_read_wave},
    {"W64", "riff\x2E\x91\xCF\x11", 8, "wave", 24, 4, true, false, header_read_wave64},
    {"AIFF", "FORM", 4, "AIFF", 8, 4, true, true, header_read_aiff},
    {"AIFF", "FORM", 4, "AIFC", 8, 4, true, true, header_read_aiff},
    {"CAF", "caff", 4, "", 0, 0, true, true, header_read_caf},
    {"AU", ".snd", 4, "", 0, 0, true, true, header_read_au},
    {"AU", "dns.", 4, "", 0, 0, true, false, header_read_au},
    {"FLAC", "fLaC", 4, "", 0, 0, true, true, header_read_flac},
    {"NIST", "NIST_1A", 7, "", 0, 0, true, false, NULL},
    {"IRCAM", "\x64\xA3", 2, "\0", 3, 1, true, false, NULL},
    {"IRCAM", "\0", 1, "\xA3\x64", 2, 2, true, false, NULL},
    {"PVF", "PVF1", 4, "", 0, 0, true, false, NULL},
    {"AVR", "2BIT", 4, "", 0, 0, true, false, NULL},
    {"PAF", " paf", 4, "", 0, 0, true, false, NULL},
    {"PAF", "fap ", 4, "", 0, 0, true, false, NULL},
    {"MPC", "\x01\x04", 2, "", 0, 0, true, false, NULL},
    {"XI", "Extended Instrument:", 20, "", 0, 0, true, false, NULL},
    {"MAT4", "\0\0\x03\xE8\0\0\0\x01\0\0\0\x01", 12, "", 0, 0, true, false, NULL},
    {"MAT4", "\0\0\0\0\x01\0\0\0\x01\0\0\0", 12, "", 0, 0, true, false, NULL},
    {"MAT5", "MATLAB 5.0 MAT-file", 19, "", 0, 0, false, false, NULL},
    {"SVX", "FORM", 4, "8SVX", 8, 4, false, false, NULL},
    {"SVX", "FORM", 4, "16SV", 8, 4, false, false, NULL},
    {"VOC", "Creative Voice File", 19, "", 0, 0, false, false, NULL},
    {"SDS", "\xF0\x7E", 2, "\x01", 3, 1, false, false, NULL},
    {"WVE", "ALawSoundFile**", 15, "", 0, 0, false, false, NULL},
    {"HTK", "", 0, "\0\x02\0\0", 8, 4, false, false, NULL},
};

static const struct form *find_form(const unsigned char *head, size_t count)
{
    for (size_t i = 0; i < sizeof form_list / sizeof form_list[0]; i++) {
        const struct form *form = &form_list[i];
        if (count >= form->magic_size && count >= form->kind_at + form->kind_size &&
            memcmp(head, form->magic, form->magic_size) == 0 &&
            memcmp(head + form->kind_at, form->kind, form->kind_size) == 0) {
            return form;
        }
    }
    return NULL;
}

bool container_is_audio(const unsigned char *head, size_t count)
{
    return find_form(head, count) != NULL;
}

/* Lengths that programs write when they cannot know: all bits set, or just below 2 GiB. */
static bool is_placeholder(const struct length_field *length)
{
    uint64_t said = length->value + length->extra;
    if (length->size == 8) {
        return length->value >= (uint64_t)UNKNOWN_LENGTH;
    }
    return said >= 0xFFFFF000U || (said >= 0x7FFFF000U && said <= 0x80000000U);
}

/* A length of 0 that was never filled in: bytes follow, and the outer header knows of none. */
static bool is_never_filled(const struct header *header)
{
    const struct length_field *length = &header->length;
    return length->value == 0 && (length->outer <= (uint64_t)header->container->data_at ||
                                     (length->size == 4 && length->outer >= 0xFFFFF000U));
}

static void set_number(unsigned char *bytes, size_t count, bool is_big, uint64_t number)
{
    for (size_t i = 0; i < count; i++) {
        bytes[is_big ? count - 1 - i : i] = (unsigned char)(number >> (8 * i));
    }
}

/* Shows libsndfile a length it takes: of a file what is there, of a stream no end. */
static void mend_length(struct header *header, int64_t available)
{
    struct length_field *length = &header->length;
    unsigned char bytes[SOURCE_PATCH_SIZE];
    uint64_t shown = (uint64_t)(available >= 0 ? available : UNKNOWN_LENGTH) + length->extra;
    if (length->size == 4 && shown > UINT32_MAX) {
        shown = UINT32_MAX;
    }
    set_number(bytes, length->size, length->is_big, shown);
    source_set_patch(header->source, length->at, bytes, length->size);
}

static enum status find_length(struct header *header)
{
    struct container *container = header->container;
    const struct length_field *length = &header->length;
    const char *path = source_get_path(header->source);
    int64_t file_length = source_get_length(header->source);
    int64_t available = file_length < 0 ? -1 : file_length - container->data_at;
    if (file_length >= 0 && available <= 0) {
        return fail(header->err, STATUS_INPUT, header_damage_hint,
            "'%s' (%s) ends at byte %" PRId64 ", before its first sample", path, container->name,
            file_length);
    }
    container->is_unfinished = is_never_filled(header);
    bool is_unknown = container->is_unfinished || is_placeholder(length);
    container->data_length = is_unknown ? -1 : (int64_t)length->value;
    if (length->value == 0 && !is_unknown) {
        return fail(header->err, STATUS_INPUT, "record or export it again",
            "'%s' (%s) holds no samples: its length field at byte %" PRId64 " says 0", path,
            container->name, length->at);
    }
    if (is_unknown || (available >= 0 && container->data_length > available)) {
        mend_length(header, available);
    }
    return STATUS_OK;
}

static enum status check_format(const struct header *header, size_t channel_limit)
{
    const struct container *container = header->container;
    const char *path = source_get_path(header->source);
    if (container->channels == 0) {
        return fail(header->err, STATUS_INPUT, header_damage_hint,
            "'%s' (%s) says at byte %" PRId64 " that it has 0 channels", path, container->name,
            container->channels_at);
    }
    if (container->channels > channel_limit) {
        return fail(header->err, STATUS_INPUT, "export the channels of the ring alone",
            "'%s' (%s) says at byte %" PRId64 " that it has %" PRIu64
            " channels: a capture has at most %zu",
            path, container->name, container->channels_at, container->channels, channel_limit);
    }
    if (!(container->sample_rate_Hz >= 1 && container->sample_rate_Hz <= RATE_LIMIT)) {
        return fail(header->err, STATUS_INPUT, header_damage_hint,
            "'%s' (%s) says at byte %" PRId64 " that its sample rate is %g Hz", path,
            container->name, container->rate_at, container->sample_rate_Hz);
    }
    return STATUS_OK;
}

static enum status read_layout(const struct form *form, struct header *header, size_t channel_limit)
{
    enum status status = form->read(header);
    if (status == STATUS_OK) {
        status = check_format(header, channel_limit);
    }
    if (status == STATUS_OK && header->container->data_at >= 0) {
        status = find_length(header);
    }
    return status;
}

enum status container_read(
    struct source *source, size_t channel_limit, struct container *container, struct error *err)
{
    const unsigned char *head;
    size_t count;
    struct container found = {.channels_at = -1, .data_at = -1, .data_length = -1};
    struct header header = {.source = source, .container = &found, .err = err};
    enum status status = source_peek(source, &head, &count, err);
    if (status != STATUS_OK) {
        return status;
    }
    const struct form *form = find_form(head, count);
    if (form == NULL) {
        return fail(err, STATUS_INPUT, "WAV, FLAC, AIFF, CAF, W64 and RF64 are",
            "'%s' is not in an audio format that can be read", source_get_path(source));
    }
    if (!form->is_streamable && !source_is_file(source)) {
        return fail(err, STATUS_INPUT, "give the file by its name instead of a pipe",
            "'%s' (%s) cannot be read from a stream", source_get_path(source), form->name);
    }
    found.name = form->name;
    found.has_layout = form->read != NULL;
    found.is_big = form->is_big;
    header.is_big = form->is_big;
    status = found.has_layout ? read_layout(form, &header, channel_limit) : STATUS_OK;
    if (status == STATUS_OK) {
        *container = found;
    }
    return status;
}
