// SPDX-License-Identifier: GPL-3.0-or-later
/* The limit program: what nobody who reads a capture can go below. It decodes the file to double
 * with libsndfile and takes its SHA-256 with libcrypto, one after the other on one core.
 *
 *     limit decode FILE     only the decoding
 *     limit both FILE       decoding, then the digest
 */
#include <openssl/evp.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FRAMES 16384
#define BYTES ((size_t)1 << 18)

static int decode(const char *path)
{
    SF_INFO info = {0};
    SNDFILE *file = sf_open(path, SFM_READ, &info);
    if (file == NULL) {
        fprintf(stderr, "limit: cannot read '%s': %s\n", path, sf_strerror(NULL));
        return EXIT_FAILURE;
    }
    double *samples = calloc(FRAMES * (size_t)info.channels, sizeof *samples);
    double sum = 0; /* so that nothing is left out as unused */
    sf_count_t frames = 0;
    for (sf_count_t got = 1; samples != NULL && got > 0; frames += got) {
        got = sf_readf_double(file, samples, FRAMES);
        sum += samples[0];
    }
    printf("%lld frames, %g\n", (long long)frames, sum);
    free(samples);
    sf_close(file);
    return EXIT_SUCCESS;
}

static int digest(const char *path)
{
    unsigned char sum[EVP_MAX_MD_SIZE];
    unsigned int count = 0;
    char *bytes = malloc(BYTES);
    FILE *file = fopen(path, "rb");
    EVP_MD_CTX *context = EVP_MD_CTX_new();
    if (bytes == NULL || file == NULL || context == NULL) {
        return EXIT_FAILURE;
    }
    setvbuf(file, NULL, _IONBF, 0);
    EVP_DigestInit_ex(context, EVP_sha256(), NULL);
    for (size_t got = 1; got > 0;) {
        got = fread(bytes, 1, BYTES, file);
        EVP_DigestUpdate(context, bytes, got);
    }
    EVP_DigestFinal_ex(context, sum, &count);
    for (unsigned int i = 0; i < count; i++) {
        printf("%02x", sum[i]);
    }
    printf("\n");
    EVP_MD_CTX_free(context);
    fclose(file);
    free(bytes);
    return EXIT_SUCCESS;
}

int main(int argc, char **argv)
{
    if (argc != 3 || (strcmp(argv[1], "decode") != 0 && strcmp(argv[1], "both") != 0)) {
        fprintf(stderr, "usage: limit decode|both FILE\n");
        return EXIT_FAILURE;
    }
    int status = decode(argv[2]);
    if (status == EXIT_SUCCESS && strcmp(argv[1], "both") == 0) {
        status = digest(argv[2]);
    }
    return status;
}
