//! Moist air: density, viscosity, psychrometrics at altitude.
