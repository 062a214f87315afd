"""The running loop: where the solver starts, the state it ends in, which operating modes hold, what the pump lifts."""
