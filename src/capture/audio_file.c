// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/audio_file.h"

#include <math.h>
#include <string.h>

#include "capture/foreign.h"

/* The length libsndfile sees of a stream: behind the mended lengths of container.c. */
#define NO_END ((sf_count_t)1 << 61)
#define FRAMES_LIMIT ((sf_count_t)1 << 50) /* more frames than this are none that are there */

/* The virtual file that libsndfile reads. */

static sf_count_t get_length(void *user)
{
    const struct audio_file *file = user;
    const struct container *container = &file->container;
    if (source_is_file(file->source)) {
        return source_get_length(file->source) - file->base;
    }
    return container->data_length >= 0 ? container->data_at + container->data_length : NO_END;
}

static sf_count_t set_position(sf_count_t offset, int whence, void *user)
{
    struct audio_file *file = user;
    if (whence == SEEK_CUR) {
        offset += source_get_position(file->source) - file->base;
    } else if (whence == SEEK_END) {
        offset += get_length(user);
    }
    if (offset < 0) {
        return -1;
    }
    source_set_position(file->source, offset + file->base);
    return offset;
}

static sf_count_t read_bytes(void *bytes, sf_count_t count, void *user)
{
    struct audio_file *file = user;
    long got = count > 0 ? source_read(file->source, bytes, (size_t)count) : 0;
    return got > 0 ? got : 0;
}

static sf_count_t write_nothing(const void *bytes, sf_count_t count, void *user)
{
    (void)bytes;
    (void)count;
    (void)user;
    return 0;
}

static sf_count_t get_position(void *user)
{
    const struct audio_file *file = user;
    return source_get_position(file->source) - file->base;
}

static const char damage_hint[] = "the file is damaged or of an unknown kind: export it again";

/* libsndfile's own words begin with a capital and end with a full stop and a new line. */
static enum status fail_decoder(const struct audio_file *file, const char *words, struct error *err)
{
    if (source_get_failure(file->source) != 0) {
        return source_fail(file->source, err);
    }
    if (strstr(words, "internal") != NULL) { /* of which there is none: it means the file's bytes */
        words = "its header contradicts itself";
    }
    size_t length = strcspn(words, "\n");
    while (length > 0 && (words[length - 1] == '.' || words[length - 1] == ' ')) {
        length--;
    }
    return fail(err, STATUS_INPUT, damage_hint, "cannot read '%s' as %s: %.*s",
        source_get_path(file->source), file->container.name, (int)length, words);
}

static enum status open_handle(struct audio_file *file, SF_INFO *found, struct error *err)
{
    static SF_VIRTUAL_IO io = {get_length, set_position, read_bytes, write_nothing, get_position};
    source_set_position(file->source, file->base);
    file->handle = sf_open_virtual(&io, SFM_READ, found, file);
    return file->handle != NULL ? STATUS_OK : fail_decoder(file, sf_strerror(NULL), err);
}

/* Which byte of a sample comes first, in libsndfile's words. */
static int get_byte_order(const struct audio_file *file, int format)
{
    int order = format & SF_FORMAT_ENDMASK;
    if (order == SF_ENDIAN_BIG || order == SF_ENDIAN_LITTLE) {
        return order;
    }
    return file->container.is_big ? SF_ENDIAN_BIG : SF_ENDIAN_LITTLE;
}

/* Where the header gives no true length its field may be too small for what follows (WAV: 4 GiB):
 * the samples are read as such, up to the end. */
static enum status open_samples(struct audio_file *file, SF_INFO *found, struct error *err)
{
    SF_INFO samples = {.samplerate = found->samplerate,
        .channels = found->channels,
        .format = SF_FORMAT_RAW | file->coding->subtype | get_byte_order(file, found->format)};
    sf_close(file->handle);
    file->base = file->container.data_at;
    enum status status = open_handle(file, &samples, err);
    if (status == STATUS_OK) {
        found->frames = samples.frames;
    }
    return status;
}

/* What libsndfile found is fit for a capture. */
static enum status check(const struct audio_file *file, const SF_INFO *found, struct error *err)
{
    const char *path = source_get_path(file->source);
    if (file->coding == NULL) {
        return fail(err, STATUS_INPUT, foreign_lossy_hint, "'%s' (%s) is coded as %s", path,
            file->container.name, coding_find_lossy(found->format));
    }
    if (found->channels < 1 || found->channels > AUDIO_CHANNEL_LIMIT) {
        return fail(err, STATUS_INPUT, "export the channels of the ring alone",
            "'%s' has %d channels: a capture has 1 to %d", path, found->channels,
            AUDIO_CHANNEL_LIMIT);
    }
    if (found->frames <= 0) {
        return fail(err, STATUS_INPUT, "record or export it again", "'%s' (%s) holds no samples",
            path, file->container.name);
    }
    return STATUS_OK;
}

static void set_frames(struct audio_file *file, const SF_INFO *found)
{
    const struct container *container = &file->container;
    bool is_told = found->frames < FRAMES_LIMIT;
    bool is_file = source_is_file(file->source);
    file->frames_there = is_file && is_told ? found->frames : -1;
    if (container->data_at >= 0 && file->coding->bytes > 0) {
        int64_t width = (int64_t)file->coding->bytes * found->channels;
        file->frames_promised = container->data_length < 0 ? -1 : container->data_length / width;
    } else {
        file->frames_promised = is_told && (is_file || container->has_layout) ? found->frames : -1;
    }
}

static enum status open_file(struct audio_file *file, struct error *err)
{
    SF_INFO found = {0};
    enum status status = container_read(file->source, AUDIO_CHANNEL_LIMIT, &file->container, err);
    if (status == STATUS_OK) {
        status = open_handle(file, &found, err);
    }
    if (status != STATUS_OK) {
        return status;
    }
    file->coding = coding_find(found.format);
    status = check(file, &found, err);
    const struct container *container = &file->container;
    if (status == STATUS_OK && container->data_at >= 0 && container->data_length < 0 &&
        file->coding->bytes > 0) {
        status = open_samples(file, &found, err);
    }
    if (status != STATUS_OK) {
        return status;
    }
    /* CAF and AIFF carry rates with a fraction, which libsndfile drops. */
    double exact = container->sample_rate_Hz;
    bool is_exact = container->has_layout && fabs(exact - found.samplerate) < 1;
    file->sample_rate_Hz = is_exact ? exact : found.samplerate;
    file->channels = (size_t)found.channels;
    set_frames(file, &found);
    return STATUS_OK;
}

enum status audio_file_init(struct audio_file *file, struct source *source, struct error *err)
{
    *file = (struct audio_file){.source = source};
    enum status status = open_file(file, err);
    if (status != STATUS_OK) {
        audio_file_clear(file);
    }
    return status;
}

void audio_file_clear(struct audio_file *file)
{
    if (file->handle != NULL) {
        sf_close(file->handle);
        file->handle = NULL;
    }
}
