// SPDX-License-Identifier: GPL-3.0-or-later
/* Audio files through libsndfile. Integers are rounded here, not there: libsndfile's own rounding
 * of doubles hangs on the processor it was built for. */
#include <errno.h>
#include <math.h>
#include <sndfile.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/memory.h"
#include "base/text.h"
#include "capture/writer_kind.h"

#define BLOCK_VALUES 8192
#define HEADER_ROOM 65536 /* more than any header takes */

static const struct container_form {
    const char *extension;
    int format;
    bool is_short; /* its lengths have 32 bits */
} form_list[] = {
    {".wav", SF_FORMAT_WAV, true},
    {".w64", SF_FORMAT_W64, false},
    {".rf64", SF_FORMAT_RF64, false},
    {".aiff", SF_FORMAT_AIFF, true},
    {".aif", SF_FORMAT_AIFF, true},
    {".caf", SF_FORMAT_CAF, false},
    {".flac", SF_FORMAT_FLAC, false},
    {".au", SF_FORMAT_AU, true},
};

static const struct encoding_form {
    const char *word;
    int format;
    int bits; /* 0: not integer */
    int bytes;
} encoding_list[] = {
    [AUDIO_PCM16] = {"pcm16", SF_FORMAT_PCM_16, 16, 2},
    [AUDIO_PCM24] = {"pcm24", SF_FORMAT_PCM_24, 24, 3},
    [AUDIO_PCM32] = {"pcm32", SF_FORMAT_PCM_32, 32, 4},
    [AUDIO_FLOAT] = {"float", SF_FORMAT_FLOAT, 0, 4},
    [AUDIO_DOUBLE] = {"double", SF_FORMAT_DOUBLE, 0, 8},
};
#define ENCODING_COUNT (sizeof encoding_list / sizeof encoding_list[0])

struct audio_writer {
    SNDFILE *file;
    const struct container_form *form;
    const struct encoding_form *encoding;
    int place;  /* the draft's file */
    int reason; /* errno of the first failure: libsndfile keeps some to itself, as of its last
                   header */
    int block[BLOCK_VALUES];
};

/* --- the file as libsndfile sees it ---------------------------------------------------------- */

static sf_count_t get_length(void *user)
{
    const struct audio_writer *audio = user;
    struct stat about;
    return fstat(audio->place, &about) == 0 ? (sf_count_t)about.st_size : -1;
}

static sf_count_t seek(sf_count_t offset, int whence, void *user)
{
    struct audio_writer *audio = user;
    off_t place = lseek(audio->place, (off_t)offset, whence);
    if (place < 0 && audio->reason == 0) {
        audio->reason = errno;
    }
    return (sf_count_t)place;
}

static sf_count_t get_place(void *user)
{
    return seek(0, SEEK_CUR, user);
}

static sf_count_t get_bytes(void *bytes, sf_count_t count, void *user)
{
    const struct audio_writer *audio = user;
    return (sf_count_t)read(audio->place, bytes, (size_t)count);
}

static sf_count_t put_bytes(const void *bytes, sf_count_t count, void *user)
{
    struct audio_writer *audio = user;
    if (audio->reason == 0 && !file_put(audio->place, bytes, (size_t)count)) {
        audio->reason = errno;
    }
    return audio->reason == 0 ? count : 0;
}

static enum status fail_audio(struct writer *writer, const char *words, struct error *err)
{
    const struct audio_writer *audio = writer->state;
    return writer_fail(writer, audio->reason != 0 ? strerror(audio->reason) : words, err);
}

/* ---------------------------------------------------------------------------------------------- */

static const struct container_form *find_form(const char *path)
{
    const char *extension = strrchr(text_base_name(path), '.');
    for (size_t i = 0; extension != NULL && i < sizeof form_list / sizeof form_list[0]; i++) {
        if (strcasecmp(extension, form_list[i].extension) == 0) {
            return &form_list[i];
        }
    }
    return NULL;
}

/* Steps of full scale, rounded to nearest, in the upper bits of an int as libsndfile takes them.
 * `scale` is 2^(bits - 1). */
static int get_integer(double value, double scale, int64_t *clipped)
{
    double steps = rint(value * scale);
    if (steps < -scale || steps > scale - 1) {
        *clipped += 1;
        steps = steps < 0 ? -scale : scale - 1;
    }
    return (int)(steps * (2147483648.0 / scale));
}

static enum status check_values(
    const struct writer *writer, const double *values, size_t count, struct error *err)
{
    for (size_t i = 0; i < count; i++) {
        if (isnan(values[i])) {
            return fail(err, STATUS_INPUT, "write it as float or double, or as a table",
                "cannot write a missing sample to '%s': integers have no value for it",
                writer->path);
        }
    }
    return STATUS_OK;
}

static enum status add_integers(
    struct writer *writer, const double *values, size_t frames, struct error *err)
{
    struct audio_writer *audio = writer->state;
    enum status status = check_values(writer, values, frames * writer->channels, err);
    size_t most = BLOCK_VALUES / writer->channels;
    double scale = ldexp(1, audio->encoding->bits - 1);
    while (status == STATUS_OK && frames > 0) {
        size_t count = frames < most ? frames : most;
        for (size_t i = 0; i < count * writer->channels; i++) {
            audio->block[i] = get_integer(values[i], scale, &writer->clipped);
        }
        if (sf_writef_int(audio->file, audio->block, (sf_count_t)count) != (sf_count_t)count) {
            status = fail_audio(writer, sf_strerror(audio->file), err);
        }
        values += count * writer->channels;
        frames -= count;
    }
    return status;
}

/* Files whose lengths have 32 bits end at 4 GiB. */
static enum status check_size(const struct writer *writer, size_t frames, struct error *err)
{
    const struct audio_writer *audio = writer->state;
    double bytes = ((double)writer->frames + (double)frames) * (double)writer->channels *
                   audio->encoding->bytes;
    if (audio->form->is_short && bytes > (double)UINT32_MAX - HEADER_ROOM) {
        return fail(err, STATUS_INPUT, "write it as .rf64, .w64 or .caf",
            "'%s' would be larger than the 4 GiB that its format holds", writer->path);
    }
    return STATUS_OK;
}

static enum status audio_add(struct writer *writer, const double *values, const double *times,
    size_t frames, struct error *err)
{
    struct audio_writer *audio = writer->state;
    (void)times;
    enum status status = check_size(writer, frames, err);
    if (status != STATUS_OK) {
        return status;
    }
    if (audio->encoding->bits > 0) {
        return add_integers(writer, values, frames, err);
    }
    if (sf_writef_double(audio->file, values, (sf_count_t)frames) != (sf_count_t)frames) {
        return fail_audio(writer, sf_strerror(audio->file), err);
    }
    return STATUS_OK;
}

static enum status audio_finish(struct writer *writer, struct error *err)
{
    struct audio_writer *audio = writer->state;
    int fault = sf_close(audio->file);
    audio->file = NULL;
    return fault == 0 && audio->reason == 0 ? STATUS_OK
                                            : fail_audio(writer, sf_error_number(fault), err);
}

static void audio_destroy(struct writer *writer)
{
    struct audio_writer *audio = writer->state;
    if (audio->file != NULL) {
        sf_close(audio->file);
    }
}

static const struct writer_kind audio_kind = {audio_add, audio_finish, audio_destroy};

static enum status check(const char *path, const struct audio_writer_options *options,
    const struct container_form *form, SF_INFO *info, struct error *err)
{
    double rate = options->sample_rate_Hz;
    if (form == NULL) {
        return fail(err, STATUS_USAGE, "name it .wav, .flac, .w64, .rf64, .aiff, .caf or .au",
            "cannot tell from its name what kind of audio file '%s' is to be", path);
    }
    if (!(rate >= 1 && rate <= INT32_MAX && rate == rint(rate))) {
        return fail(err, STATUS_USAGE, "choose a whole number of hertz",
            "cannot write '%s' with a sample rate of %.10g Hz", path, rate);
    }
    info->samplerate = (int)rate;
    info->channels = (int)options->channels;
    info->format = form->format | encoding_list[options->encoding].format;
    if (!sf_format_check(info)) {
        return fail(err, STATUS_USAGE,
            "FLAC holds pcm16 and pcm24, up to 8 channels and 655350 Hz; choose .wav or .w64",
            "a %s file cannot hold %zu channels of %s at %.10g Hz", form->extension,
            options->channels, encoding_list[options->encoding].word, rate);
    }
    return STATUS_OK;
}

enum status audio_writer_create(const char *path, const struct audio_writer_options *options,
    struct writer **writer, struct error *err)
{
    SF_INFO info = {0};
    struct writer *made;
    const struct container_form *form = find_form(path);
    enum status status = check(path, options, form, &info, err);
    if (status == STATUS_OK) {
        status = writer_create(
            path, &audio_kind, options->channels, sizeof(struct audio_writer), &made, err);
    }
    if (status != STATUS_OK) {
        return status;
    }
    struct audio_writer *audio = made->state;
    audio->form = form;
    audio->encoding = &encoding_list[options->encoding];
    audio->place = made->draft.file;
    SF_VIRTUAL_IO io = {get_length, seek, get_bytes, put_bytes, get_place};
    audio->file = sf_open_virtual(&io, SFM_WRITE, &info, audio);
    if (audio->file == NULL) {
        status = fail_audio(made, sf_strerror(NULL), err);
        writer_destroy(made);
        return status;
    }
    sf_command(audio->file, SFC_SET_ADD_PEAK_CHUNK, NULL, SF_FALSE); /* it holds the date */
    *writer = made;
    return STATUS_OK;
}
