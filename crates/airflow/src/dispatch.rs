//! Choice of the instruction set at run time.

/// Sets of vector instructions for which the solvers are compiled. All give the same bits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Instructions {
    /// What every processor of the target has.
    Baseline,
    /// AVX2.
    #[cfg(target_arch = "x86_64")]
    Avx2,
    /// AVX-512.
    #[cfg(target_arch = "x86_64")]
    Avx512,
}

impl Instructions {
    /// The widest set that this processor has.
    pub fn detect() -> Self {
        #[cfg(target_arch = "x86_64")]
        {
            if is_x86_feature_detected!("avx512f")
                && is_x86_feature_detected!("avx512vl")
                && is_x86_feature_detected!("avx512dq")
            {
                return Self::Avx512;
            }
            if is_x86_feature_detected!("avx2") {
                return Self::Avx2;
            }
        }
        Self::Baseline
    }
}

/// Calls a function, which must be `#[inline(always)]`, compiled for the instruction set. `$lanes`
/// names a constant parameter of the type.
macro_rules! dispatched {
    ($instructions:expr, $function:path, $this:expr, $lanes:ident, $type:ty => $result:ty) => {{
        #[cfg(target_arch = "x86_64")]
        {
            #[target_feature(enable = "avx2")]
            fn avx2<const $lanes: usize>(this: $type) -> $result {
                $function(this)
            }
            #[target_feature(enable = "avx2,avx512f,avx512vl,avx512dq")]
            fn avx512<const $lanes: usize>(this: $type) -> $result {
                $function(this)
            }
            match $instructions {
                Instructions::Baseline => $function($this),
                // SAFETY: `Instructions::detect` found these features on this processor.
                Instructions::Avx2 => unsafe { avx2($this) },
                // SAFETY: as above.
                Instructions::Avx512 => unsafe { avx512($this) },
            }
        }
        #[cfg(not(target_arch = "x86_64"))]
        {
            let Instructions::Baseline = $instructions;
            $function($this)
        }
    }};
}
pub(crate) use dispatched;
