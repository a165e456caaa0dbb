// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/ahead.h"

#include <omp.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdbool.h>

#include "base/memory.h"
#include "capture/reader.h"

/* Large enough that handing a block over (some microseconds) costs little, small enough for the
 * cache that both cores share. */
#define BLOCK_VALUES ((size_t)1 << 15)

/* Who had to wait goes on when so many blocks are there, or free: waking a thread costs as much as
 * some thousand rows, and the other may run on meanwhile. */
enum { ENOUGH = AHEAD_BLOCKS / 2 };

struct block {
    double *values;
    size_t frames;
    enum status status;
    struct error err;
    struct capture_info info; /* as it stood behind these rows */
};

struct ahead {
    struct capture *capture;
    struct capture copy; /* the thread's: the reader writes its totals there */
    struct block blocks[AHEAD_BLOCKS];
    size_t block_frames;
    bool is_refused; /* the system gave no thread: not asked again */
    bool is_running;
    pthread_t thread;

    pthread_mutex_t lock; /* of what follows */
    pthread_cond_t is_filled, is_emptied;
    size_t filled, emptied; /* blocks so far; between the two, those that wait or are borrowed */
    bool is_stopping, has_ended;
    const struct block *last; /* in the caller's hands */
};

/* Captures that are read in this way now. */
static atomic_int live_count;

struct ahead *ahead_create(struct capture *capture)
{
    struct ahead *ahead = memory_create(1, sizeof *ahead);
    if (ahead == NULL) {
        return NULL;
    }
    ahead->capture = capture;
    ahead->block_frames = BLOCK_VALUES / capture->selected;
    pthread_mutex_init(&ahead->lock, NULL);
    pthread_cond_init(&ahead->is_filled, NULL);
    pthread_cond_init(&ahead->is_emptied, NULL);
    atomic_fetch_add(&live_count, 1);
    return ahead;
}

void ahead_destroy(struct ahead *ahead)
{
    if (ahead == NULL) {
        return;
    }
    ahead_stop(ahead);
    atomic_fetch_sub(&live_count, 1);
    pthread_cond_destroy(&ahead->is_emptied);
    pthread_cond_destroy(&ahead->is_filled);
    pthread_mutex_destroy(&ahead->lock);
    for (size_t i = 0; i < AHEAD_BLOCKS; i++) {
        memory_destroy(ahead->blocks[i].values);
    }
    memory_destroy(ahead);
}

static bool create_values(struct ahead *ahead, size_t i)
{
    struct block *block = &ahead->blocks[i];
    if (block->values == NULL) {
        block->values =
            memory_create(ahead->block_frames * ahead->capture->selected, sizeof *block->values);
    }
    return block->values != NULL;
}

/* Reads one block, by the caller (the capture itself) or by the thread (its copy). */
static void fill(struct capture *capture, size_t frames, struct block *block)
{
    block->frames = 0;
    block->status =
        capture->reader->read(capture, frames, block->values, NULL, &block->frames, &block->err);
    block->info = capture->info;
}

static bool is_final(const struct block *block)
{
    return block->status != STATUS_OK || block->frames == 0;
}

static size_t count_waiting(const struct ahead *ahead)
{
    return ahead->filled - ahead->emptied;
}

/* Waits for a block to fill; NULL: the caller wants no more. */
static struct block *await_room(struct ahead *ahead)
{
    pthread_mutex_lock(&ahead->lock);
    if (count_waiting(ahead) == AHEAD_BLOCKS) {
        while (count_waiting(ahead) > ENOUGH && !ahead->is_stopping) {
            pthread_cond_wait(&ahead->is_emptied, &ahead->lock);
        }
    }
    struct block *block = ahead->is_stopping ? NULL : &ahead->blocks[ahead->filled % AHEAD_BLOCKS];
    pthread_mutex_unlock(&ahead->lock);
    return block;
}

static void *run(void *argument)
{
    struct ahead *ahead = argument;
    for (bool is_last = false; !is_last;) {
        struct block *block = await_room(ahead);
        if (block == NULL) {
            break;
        }
        fill(&ahead->copy, ahead->block_frames, block);
        is_last = is_final(block);
        pthread_mutex_lock(&ahead->lock);
        ahead->filled++;
        ahead->has_ended = is_last;
        if (is_last || count_waiting(ahead) >= ENOUGH) {
            pthread_cond_signal(&ahead->is_filled);
        }
        pthread_mutex_unlock(&ahead->lock);
    }
    return NULL;
}

static bool is_worth_a_thread(const struct ahead *ahead)
{
    const struct capture_info *info = &ahead->capture->info;
    return !ahead->is_running && !ahead->is_refused && info->kind == CAPTURE_AUDIO &&
           info->frames >= AHEAD_FRAMES && 2 * atomic_load(&live_count) <= omp_get_num_procs();
}

/* False: out of memory. */
static bool begin(struct ahead *ahead)
{
    for (size_t i = 0; i < AHEAD_BLOCKS; i++) {
        if (!create_values(ahead, i)) {
            return false;
        }
    }
    ahead->copy = *ahead->capture;
    ahead->filled = ahead->emptied = 0;
    ahead->has_ended = false;
    ahead->last = NULL;
    ahead->is_running = pthread_create(&ahead->thread, NULL, run, ahead) == 0;
    ahead->is_refused = !ahead->is_running;
    return true;
}

/* The next block of the thread; the one taken before is given back. */
static const struct block *await_block(struct ahead *ahead)
{
    pthread_mutex_lock(&ahead->lock);
    if (ahead->last != NULL) {
        ahead->emptied++;
        if (count_waiting(ahead) <= ENOUGH) {
            pthread_cond_signal(&ahead->is_emptied);
        }
    }
    if (count_waiting(ahead) == 0) {
        while (count_waiting(ahead) < ENOUGH && !ahead->has_ended) {
            pthread_cond_wait(&ahead->is_filled, &ahead->lock);
        }
    }
    const struct block *block = &ahead->blocks[ahead->emptied % AHEAD_BLOCKS];
    pthread_mutex_unlock(&ahead->lock);
    return block;
}

static enum status take_next(struct ahead *ahead, struct error *err)
{
    struct capture *capture = ahead->capture;
    if (!create_values(ahead, 0) || (is_worth_a_thread(ahead) && !begin(ahead))) {
        return fail_memory(err);
    }
    if (ahead->is_running) {
        ahead->last = await_block(ahead);
        capture->info = ahead->last->info;
    } else {
        fill(capture, ahead->block_frames, &ahead->blocks[0]);
        ahead->last = &ahead->blocks[0];
    }
    return STATUS_OK;
}

enum status ahead_take(struct ahead *ahead, const double **values, size_t *got, struct error *err)
{
    enum status status = STATUS_OK;
    if (ahead->last == NULL || !is_final(ahead->last)) {
        status = take_next(ahead, err);
    }
    if (status != STATUS_OK) {
        return status;
    }
    const struct block *block = ahead->last;
    if (block->status != STATUS_OK) {
        if (err != NULL) {
            *err = block->err;
        }
        return block->status;
    }
    *values = block->values;
    *got = block->frames;
    return STATUS_OK;
}

void ahead_stop(struct ahead *ahead)
{
    if (ahead == NULL || !ahead->is_running) {
        return;
    }
    pthread_mutex_lock(&ahead->lock);
    ahead->is_stopping = true;
    pthread_cond_signal(&ahead->is_emptied);
    pthread_mutex_unlock(&ahead->lock);
    pthread_join(ahead->thread, NULL);
    ahead->is_running = false;
    ahead->is_refused = true;
}
