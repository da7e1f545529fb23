//! Arithmetic on all lanes of a vector.

/// `[value; L]` from an expression in the lane. All of it is computed before anything is stored:
/// so the compiler may use vector instructions without a proof that the operands lie apart.
macro_rules! lanes {
    ($lane:ident => $value:expr) => {{
        let mut result = [0.0; L];
        for $lane in 0..L {
            result[$lane] = $value;
        }
        result
    }};
}
pub(crate) use lanes;
