// SPDX-License-Identifier: GPL-3.0-or-later
/* The interface of OpenSSL 1.1: the newer one looks its algorithms up by name, which takes a
 * millisecond in a program's first digest, a tenth of what a short capture needs. */
#define OPENSSL_API_COMPAT 0x10100000L

#include "base/file.h"

#include <errno.h>
#include <fcntl.h>
#include <openssl/sha.h>
#include <pthread.h>
#include <string.h>
#include <unistd.h>

#include "base/memory.h"

#define BLOCK_SIZE ((size_t)1 << 18)

struct digest {
    SHA256_CTX context;
};

struct digest *digest_create(void)
{
    struct digest *digest = memory_create(1, sizeof *digest);
    if (digest != NULL) {
        SHA256_Init(&digest->context);
    }
    return digest;
}

void digest_add(struct digest *digest, const void *bytes, size_t count)
{
    SHA256_Update(&digest->context, bytes, count);
}

void digest_get(struct digest *digest, char text[DIGEST_TEXT_SIZE])
{
    static const char hexadecimal[] = "0123456789abcdef";
    unsigned char sum[SHA256_DIGEST_LENGTH];
    SHA256_Final(sum, &digest->context);
    for (size_t i = 0; i < sizeof sum; i++) {
        text[2 * i] = hexadecimal[sum[i] >> 4];
        text[2 * i + 1] = hexadecimal[sum[i] & 15];
    }
    text[2 * sizeof sum] = '\0';
}

void digest_destroy(struct digest *digest)
{
    memory_destroy(digest);
}

struct digest_job {
    char *path;
    pthread_t thread;
    bool is_running;
    enum status status;
    struct error err;
    char text[DIGEST_TEXT_SIZE];
};

/* Adds all bytes behind `file`; false when reading failed (errno is set). */
static bool add_file(struct digest *digest, int file, char *block)
{
    for (;;) {
        ssize_t got = read(file, block, BLOCK_SIZE);
        if (got == 0) {
            return true;
        }
        if (got > 0) {
            digest_add(digest, block, (size_t)got);
        } else if (errno != EINTR) {
            return false;
        }
    }
}

static enum status compute(struct digest_job *job)
{
    enum status status = STATUS_OK;
    struct digest *digest = digest_create();
    char *block = memory_create(BLOCK_SIZE, 1);
    int file = open(job->path, O_RDONLY | O_CLOEXEC);
    if (digest == NULL || block == NULL) {
        status = fail_memory(&job->err);
    } else if (file < 0 || !add_file(digest, file, block)) {
        status = fail(&job->err, STATUS_IO, "check the path and the permissions",
            "cannot read '%s': %s", job->path, strerror(errno));
    } else {
        digest_get(digest, job->text);
    }
    if (file >= 0) {
        close(file);
    }
    memory_destroy(block);
    digest_destroy(digest);
    return status;
}

static void *run(void *argument)
{
    struct digest_job *job = argument;
    job->status = compute(job);
    return NULL;
}

struct digest_job *digest_job_create(const char *path)
{
    struct digest_job *job = memory_create(1, sizeof *job);
    if (job == NULL) {
        return NULL;
    }
    job->path = memory_copy_text(path);
    if (job->path == NULL) {
        memory_destroy(job);
        return NULL;
    }
    /* Where no thread is to be had, digest_job_finish does the work. */
    job->is_running = pthread_create(&job->thread, NULL, run, job) == 0;
    return job;
}

enum status digest_job_finish(
    struct digest_job *job, char text[DIGEST_TEXT_SIZE], struct error *err)
{
    if (job == NULL) {
        return fail_memory(err);
    }
    if (job->is_running) {
        pthread_join(job->thread, NULL);
    } else {
        run(job);
    }
    enum status status = job->status;
    if (status == STATUS_OK) {
        memcpy(text, job->text, DIGEST_TEXT_SIZE);
    } else if (err != NULL) {
        *err = job->err;
    }
    memory_destroy(job->path);
    memory_destroy(job);
    return status;
}

enum status digest_file(const char *path, char text[DIGEST_TEXT_SIZE], struct error *err)
{
    return digest_job_finish(digest_job_create(path), text, err);
}

void digest_bytes(const void *bytes, size_t count, char text[DIGEST_TEXT_SIZE])
{
    struct digest digest;
    SHA256_Init(&digest.context);
    digest_add(&digest, bytes, count);
    digest_get(&digest, text);
}
