/* Runs commands in turn, round after round, so that what disturbs one disturbs all.
   usage: race ROUNDS COMMAND ARGUMENT… -- COMMAND ARGUMENT… …
   gives  a line for each command: median and least wall time in nanoseconds, most memory in KiB, exit status
   Output of the commands goes nowhere. A command that cannot be run: exit status 127. */
#define _GNU_SOURCE
#include <fcntl.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>

enum { MOST_COMMANDS = 16 };
extern char **environ;

typedef struct {
    char **argv;
    long long *times;
    long most_kib;
    int status;
} Runner;

static long long now(void) {
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return time.tv_sec * 1000000000LL + time.tv_nsec;
}

static void run(Runner *runner, int round, const posix_spawn_file_actions_t *actions) {
    pid_t child;
    int status = 127 << 8;
    struct rusage usage = {0};
    long long before = now();
    if (posix_spawnp(&child, runner->argv[0], actions, NULL, runner->argv, environ) == 0)
        wait4(child, &status, 0, &usage);
    runner->times[round] = now() - before;
    if (usage.ru_maxrss > runner->most_kib) runner->most_kib = usage.ru_maxrss;
    runner->status = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

static int by_time(const void *a, const void *b) {
    long long left = *(const long long *)a, right = *(const long long *)b;
    return left < right ? -1 : left > right;
}

static int split(int argc, char **argv, Runner *runners) {
    int n = 0;
    for (int i = 2; i < argc; i++) {
        if (n < MOST_COMMANDS) runners[n++].argv = &argv[i];
        while (i < argc && strcmp(argv[i], "--") != 0) i++;
        if (i < argc) argv[i] = NULL;
    }
    return n;
}

int main(int argc, char **argv) {
    Runner runners[MOST_COMMANDS] = {0};
    int rounds = argc > 2 ? atoi(argv[1]) : 0, n = split(argc, argv, runners);
    if (rounds < 1 || n < 1) return 2;
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, 1, "/dev/null", O_WRONLY, 0);
    posix_spawn_file_actions_addopen(&actions, 2, "/dev/null", O_WRONLY, 0);
    for (int i = 0; i < n; i++) runners[i].times = calloc((size_t)rounds, sizeof *runners[i].times);
    for (int round = 0; round < rounds; round++)
        for (int i = 0; i < n; i++) run(&runners[i], round, &actions);
    for (int i = 0; i < n; i++) {
        qsort(runners[i].times, (size_t)rounds, sizeof *runners[i].times, by_time);
        printf("%lld %lld %ld %d\n", runners[i].times[rounds / 2], runners[i].times[0], runners[i].most_kib,
               runners[i].status);
        free(runners[i].times);
    }
    return 0;
}
