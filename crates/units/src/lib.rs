//! Quantities at the edge: parse "70 cfm", print IP or SI.
