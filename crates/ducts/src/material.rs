//! Duct materials and their roughness.

use crate::loss::Source;

/// What the inside of a duct is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Material {
    /// Galvanised steel, round with longitudinal seam or rectangular.
    Galvanised,
    /// Galvanised steel, spiral seam.
    GalvanisedSpiral,
    /// Smooth plastic pipe.
    SmoothPlastic,
    /// Semi-rigid plastic tube of 63 to 90 mm, smooth inside and ribbed outside.
    SemiRigid,
    /// Flexible duct: non-metallic liner on a wire helix, fully extended.
    Flexible,
}

const FUNDAMENTALS_TABLE_1: Source =
    Source::published("ASHRAE Fundamentals 2021, chapter 21, table 1");

impl Material {
    /// Every material.
    pub const ALL: [Material; 5] = [
        Material::Galvanised,
        Material::GalvanisedSpiral,
        Material::SmoothPlastic,
        Material::SemiRigid,
        Material::Flexible,
    ];

    /// Absolute roughness ε (m) to calculate with.
    ///
    /// ```
    /// assert_eq!(ducts::Material::Flexible.roughness(), 0.9e-3);
    /// ```
    pub fn roughness(self) -> f64 {
        match self {
            Material::Galvanised => 0.09e-3,
            Material::GalvanisedSpiral => 0.12e-3,
            Material::SmoothPlastic => 0.046e-3,
            Material::SemiRigid => 0.05e-3,
            Material::Flexible => 0.9e-3,
        }
    }

    /// Smallest and largest roughness (m) that the source gives for the material.
    pub fn roughness_range(self) -> (f64, f64) {
        match self {
            Material::Galvanised => (0.049e-3, 0.15e-3),
            Material::GalvanisedSpiral => (0.061e-3, 0.12e-3),
            Material::SmoothPlastic => (0.009e-3, 0.046e-3),
            Material::SemiRigid => (0.01e-3, 0.1e-3),
            Material::Flexible => (0.09e-3, 0.9e-3),
        }
    }

    /// Where the roughness comes from. No published figure was found for semi-rigid tube; a
    /// maker's curve of pressure against flow is better than any roughness there.
    pub fn source(self) -> Source {
        match self {
            Material::SemiRigid => Source::from_memory(
                "range from memory; prefer the maker's curve of pressure against flow",
            ),
            _ => FUNDAMENTALS_TABLE_1,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_roughness_lies_in_its_range() {
        for material in Material::ALL {
            let (low, high) = material.roughness_range();
            assert!((low..=high).contains(&material.roughness()), "{material:?}");
        }
    }
}
