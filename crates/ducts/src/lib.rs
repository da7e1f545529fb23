//! Friction, flexible duct, fittings, dampers, taps and fan curves.
