"""What is told of a build of several tanks, sumps or pumps: the same answers and tables, each by name, alike ones folded.

    view.py       what is being told, in which units, folded how         screen.py    the first screen
    answers.py    the line, the power cut, blocked drains                expect.py    flows and buckets to expect
    tables.py     levels, drains, returns                                passages.py  pipes, edges of boxes, walls
    pumps.py      the pumps; where their head goes                       stopping.py  the pumps stopped
    loose.py      what hangs together with nothing, and dead ends        terminal.py  the whole report
"""
