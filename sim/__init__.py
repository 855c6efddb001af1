"""The simulated bench: scale, rotor, balancer and operator, independent of the program."""
