"""Several tanks, boxes, sumps, pumps and headers: what is written, by examples. The parts are read in `tanks`, `pumps`, `pipes`.

The short forms ('tank', 'sump', 'pump') stay as they are; a list of the same entries stands in the plural. An entry has a name,
in it or in front of it:

    tanks:                                              tanks:
      - {name: show, inside: ..., bottom: ...}            show: {inside: ..., bottom: ...}
      - nursery: {inside: ..., bottom: ...}               nursery: {same as: show, bottom: 20 cm above show rim}

**Where a drain begins and ends, what a return fills.** Needed only where there are several.

    drains:
      - {name: left, in: show, inlet: ..., line: [...], into: {chamber: wool, end: 30 cm above sump bottom}}
      - {name: filter, in: nursery, inlet: ..., line: [...], into: {tank: show, end: 3 cm above tank rim}}
      - {name: gutter 1, in: show, inlet: ..., line: [...], into: {header: gutter, end: 10 cm above sump rim}}
    returns:
      - {tank: nursery, from: main, line: [...], end: 3 cm below tank rim}      # from a pump or a header

Drains and returns may stand in their tank's section instead, and are then called after it ('show left'). A filter that stands
above the sump is a tank with a drain of its own.

**Overflow boxes** are filled over an edge; a drain stands 'in' one. In a tank's section: 'box: {...}', there called 'box'. One
that stands in its tank takes its room ('inside tank: yes'); not said, it does where its rim is lower than the tank's.

    overflow boxes:
      - {name: weir, in: show, inside: 60 x 20 x 60 cm, bottom: 5 cm above tank bottom,
         over: {edge: 58 cm, at: 45 mm below tank rim}}

**Pumps** draw from a chamber, or stand behind a header; they push into a header of their own, or into one that they share, if
need be through a line. '2 x main' makes 'main 1' and 'main 2' side by side; unless it says where to, their header is 'main'.

    pumps:
      - 2 x main: {chamber: pumps, curve: [...], line: [check valve, ...], into: {header: ring, line: [pipe 63 PN10 2 m]}}
      - {name: booster, behind: ring, curve: [...]}
      - {name: spare, same as: booster, off: yes}

**Pipes between** headers, or between waters with the height of each mouth. A header is there as soon as something names it.

    pipes between:
      - {name: crossing, from: main, to: far side, line: [pipe 50 PN10 4 m]}
      - {name: equaliser, from: {tank: show, at: 10 cm above tank bottom}, to: {tank: nursery, at: ...}, line: [...]}

**Many alike.** Twelve tanks, each with its drains and returns; a header along the row, whose places are 'row 1' to 'row 12'. Of
three drains alike in one tank: '3 x standpipe'. Twins share their numbers: a band moves all of them together. An exception states
what differs, as 'same as' does; drains and returns by their names. A number that differs is then that twin's own.

    tanks:
      - 12 x rack tank:
          inside: 60 x 45 x 40 cm
          bottom: 110 cm above ground
          drains: [{name: overflow, inlet: {standpipe: 36 mm, lip: 5 cm below tank rim}, line: [...], into: {...}}]
          returns: [{line: [pipe 20 PN16 40 cm], end: 3 cm below tank rim}]
          header: {name: row, from: main, line: [pipe 50 PN10 3 m], between: [pipe 50 PN10 65 cm], ring: [pipe 50 PN10 7 m]}
          except: {7: {bottom: 150 cm above ground}, 9 .. 11: {drains: {overflow: {inlet: {lip: 7 cm below tank rim}}}}}

'line' leads from the pump or header to the first place, which without it is the pump's own header; 'ring: yes' closes the row
with one more length as between the others.

**Places.** In a tank's section, and at a drain, return or box of a tank, 'tank rim' is its own, 'box rim' its box's; 'sump
bottom' is that of the chamber concerned; behind {tank: NAME, end: ...} 'tank' is the tank named there. Where there is only one,
it is meant everywhere. Any other is called by its name: 'show rim', 'rack tank 7 bottom'. 'lip of NAME' is first the tank's own
drain.

**Water** is stated once in all: a 'line' in one chamber with a pump closes the balance; 'water: {still: HEIGHT, chamber: NAME}'.

    >>> from hydro.case import loads
    >>> build = loads('''
    ... tanks: [{3 x rack: {inside: 60 x 45 x 40 cm, bottom: 1 m above ground,
    ...   drains: [{inlet: {standpipe: 36 mm, lip: 5 cm below tank rim}, line: [pipe 40 PN10 1 m],
    ...            into: {end: 3 cm above sump rim}}],
    ...   returns: [{line: [pipe 20 PN16 40 cm], end: 3 cm below tank rim}], header: {name: row, between: [pipe 50 PN10 65 cm]},
    ...   except: {2: {bottom: 120 cm above ground}}}}]
    ... sump: {inside: 150 x 50 x 50 cm, bottom: at ground, line: 25 cm above sump bottom}
    ... pump: {curve: [0 L/h = 4 m, 6000 L/h = 0 m]}
    ... ''')
    >>> [(tank.name, tank.bottom.offset.name) for tank in build.tanks]
    [('rack 1', 'rack: bottom'), ('rack 2', 'rack 2: bottom'), ('rack 3', 'rack: bottom')]
    >>> [(way.name, way.source) for way in build.returns][0], [run.name for run in build.runs]
    (('rack 1 return', 'row 1'), ['row 1 to 2', 'row 2 to 3'])
"""
