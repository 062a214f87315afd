"""How the time of reading a case file grows with the tanks in it: as a multiple of the smallest, in CPU time of one run.

    python tests/bench/reading.py

Text is read once, not once a tank: ten times the tanks should take hardly more than ten times as long.
"""

import time

from hydro.case import loads

ROOM = """
tanks:
  - {count} x rack:
      inside: 100 x 50 x 45 cm
      bottom: 100 cm above ground
      drains: [{{name: overflow, inlet: {{standpipe: 46 mm, lip: 7 cm below tank rim}}, line: [pipe 50 PN10 90 cm],
                into: {{end: 58 cm above sump bottom}}}}]
      returns: [{{line: [pipe 25 PN16 40 cm], end: 3 cm above tank rim}}]
      header: {{name: row, from: pump, line: [pipe 188 mm 6 m], between: [pipe 188 mm 90 cm]}}
sump: {{inside: 18 x 1.2 x 0.8 m, bottom: at ground, line: 38 cm above sump bottom}}
pump: {{curve: [0 m3/h = 6 m, 30 m3/h = 4.2 m, 52 m3/h = 0 m], line: [pipe 110 PN10 2 m]}}
"""
COUNTS = (20, 200, 2000)


def main():
    """Print the multiples."""
    taken = []
    for count in COUNTS:
        start = time.process_time()
        build = loads(ROOM.format(count=count))
        taken.append(time.process_time() - start)
        assert len(build.tanks) == count
        print(f"{count:>5} tanks: {taken[-1] / taken[0]:.1f} times as long as {COUNTS[0]}")


if __name__ == "__main__":
    main()
