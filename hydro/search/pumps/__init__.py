"""Which pump for this very plumbing: candidates in the place of one pump of a build, each solved with the whole loop, ranked.

    candidate   a pump that might be bought: curve points or the label on its box, watts, price
    tables      candidates out of CSV files, one pump or several in each; every mistake in one line
    typed       candidates and wishes out of the command line
    power       water horse power and its cost: rho g Q H, watts on the curve, energy of a year
    point       the operating point of a pump in any network, and the head that the network asks for at a forced flow
    setting     the opening of a ball valve, or the speed, that brings the solved loop to a wanted flow
    choose      all of it for each candidate, and the order
"""
