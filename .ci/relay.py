"""A link between two network namespaces with a rate, a delay and a loss of its own.

Usage: relay.py NAME_A NAME_B MEGABITS DELAY_MS LOSS_PERCENT SECONDS

Makes two tunnel devices and passes packets between them, one process a direction: a packet leaves when the ones before it are through at
the rate, and arrives a delay later; what would wait longer than 60 ms is dropped, as a full buffer does. Ends by itself.
"""

import collections
import fcntl
import os
import random
import select
import struct
import sys
import time

TUNSETIFF = 0x400454CA
IFF_TUN_NO_PI = 0x0001 | 0x1000
LONGEST_QUEUE_S = 0.06
LONGEST_NAP_S = 0.02


def tunnel(name):
    fd = os.open("/dev/net/tun", os.O_RDWR | os.O_NONBLOCK)
    fcntl.ioctl(fd, TUNSETIFF, struct.pack("16sH", name.encode(), IFF_TUN_NO_PI))
    return fd


def pass_on(source, target, bytes_per_s, delay, loss, until):
    queue = collections.deque()
    free = 0.0
    chance = random.Random(7)
    now = time.monotonic
    while now() < until:
        wait = 0.2 if not queue else max(0.0, queue[0][0] - now())
        ready = select.select([source], [], [], wait)[0]
        if ready:
            for _ in range(64):
                try:
                    packet = os.read(source, 65536)
                except OSError:
                    break
                at = now()
                # this process may have waited for a processor: what the link could have carried meanwhile is not lost
                free = max(free, at - LONGEST_NAP_S)
                if free - at > LONGEST_QUEUE_S or (loss and chance.random() < loss):
                    continue
                free += len(packet) / bytes_per_s
                queue.append((max(free, at) + delay, packet))
        at = now()
        while queue and queue[0][0] <= at:
            try:
                os.write(target, queue.popleft()[1])
            except OSError:
                pass


def main():
    name_a, name_b = sys.argv[1:3]
    megabits, delay_ms, loss, seconds = map(float, sys.argv[3:7])
    a, b = tunnel(name_a), tunnel(name_b)
    print("ready", flush=True)
    until = time.monotonic() + seconds
    ways = (a, b) if os.fork() else (b, a)
    pass_on(*ways, megabits * 1e6 / 8, delay_ms / 1e3, loss / 100, until)


main()
