//! Problems in a file, with line, column and excerpt.
