//! The one place that asks what the processor can do.
//!
//! A step is a plain loop over a block of pixels; it is
//! compiled once for every processor of the target and once more for each set of wider instructions, and
//! computes the same bytes with each.

/// A loop over the lanes of a block.
pub trait Step {
    /// Must be `#[inline(always)]`, so that it takes on the instructions of whoever calls it.
    fn run(self);
}

/// How wide the instructions are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Width {
    /// What every processor of the target has.
    Portable,
    /// Eight floats at once.
    #[cfg(target_arch = "x86_64")]
    Avx2,
    /// Sixteen floats at once.
    #[cfg(target_arch = "x86_64")]
    Avx512,
}

impl Width {
    pub fn widest() -> Self {
        #[cfg(target_arch = "x86_64")]
        {
            if is_x86_feature_detected!("avx512f") && is_x86_feature_detected!("avx512bw") {
                return Self::Avx512;
            }
            if is_x86_feature_detected!("avx2") {
                return Self::Avx2;
            }
        }
        Self::Portable
    }

    /// Every width that this processor has.
    pub fn all() -> Vec<Self> {
        match Self::widest() {
            #[cfg(target_arch = "x86_64")]
            Self::Avx512 => vec![Self::Portable, Self::Avx2, Self::Avx512],
            #[cfg(target_arch = "x86_64")]
            Self::Avx2 => vec![Self::Portable, Self::Avx2],
            Self::Portable => vec![Self::Portable],
        }
    }

    /// Runs a step with these instructions.
    #[expect(unsafe_code, reason = "calls functions compiled for instructions that not every processor has")]
    pub fn run(self, step: impl Step) {
        match self {
            Self::Portable => step.run(),
            // SAFETY: `widest` and `all` give this only where the processor has AVX2.
            #[cfg(target_arch = "x86_64")]
            Self::Avx2 => unsafe { run_avx2(step) },
            // SAFETY: `widest` and `all` give this only where the processor has AVX-512 F and BW.
            #[cfg(target_arch = "x86_64")]
            Self::Avx512 => unsafe { run_avx512(step) },
        }
    }
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2")]
fn run_avx2(step: impl Step) {
    step.run();
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2,avx512f,avx512bw,avx512dq,avx512vl")]
fn run_avx512(step: impl Step) {
    step.run();
}
