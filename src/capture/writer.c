// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/writer.h"

#include "base/memory.h"
#include "capture/writer_kind.h"

enum status writer_create(const char *path, const struct writer_kind *kind, size_t channels,
    size_t state_size, struct writer **writer, struct error *err)
{
    if (channels < 1 || channels > WRITER_CHANNEL_LIMIT) {
        return fail(err, STATUS_USAGE, "a capture has 1 to 64 channels",
            "cannot write '%s' with %zu channels", path, channels);
    }
    struct writer *made = memory_create(1, sizeof *made);
    if (made == NULL) {
        return fail_memory(err);
    }
    made->channels = channels;
    made->path = memory_copy_text(path);
    made->state = memory_create(1, state_size);
    enum status status = made->path == NULL || made->state == NULL
                             ? fail_memory(err)
                             : file_draft_create(&made->draft, path, err);
    if (status != STATUS_OK) {
        writer_destroy(made);
        return status;
    }
    made->kind = kind;
    *writer = made;
    return STATUS_OK;
}

enum status writer_fail(const struct writer *writer, const char *words, struct error *err)
{
    return fail(err, STATUS_IO, "is there room on the disk, and the right to write?",
        "cannot write '%s': %s", writer->path, words);
}

enum status writer_add(struct writer *writer, const double *values, const double *times,
    size_t frames, struct error *err)
{
    enum status status = writer->kind->add(writer, values, times, frames, err);
    if (status == STATUS_OK) {
        writer->frames += (int64_t)frames;
    }
    return status;
}

int64_t writer_get_clipped(const struct writer *writer)
{
    return writer->clipped;
}

enum status writer_commit(struct writer *writer, struct error *err)
{
    enum status status = writer->kind->finish(writer, err);
    return status == STATUS_OK ? file_draft_commit(&writer->draft, err) : status;
}

void writer_destroy(struct writer *writer)
{
    if (writer == NULL) {
        return;
    }
    if (writer->kind != NULL) {
        writer->kind->destroy(writer);
    }
    file_draft_abandon(&writer->draft);
    memory_destroy(writer->state);
    memory_destroy(writer->path);
    memory_destroy(writer);
}
