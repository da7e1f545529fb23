//! Polygons.

use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::float::scale::FixedScaleFloatOverlay;

/// A closed line through these points.
pub type Contour = Vec<[f64; 2]>;

/// An area: its outer contour, counterclockwise, and after it its holes, clockwise.
pub type Shape = Vec<Contour>;

/// Steps of the grid on which the polygon library computes, per metre: 0.1 µm. With 64-bit integers
/// a wall may be kilometres long.
const GRID: f64 = 1e7;

/// The area of shapes (m²).
pub fn area(shapes: &[Shape]) -> f64 {
    shapes
        .iter()
        .flatten()
        .fold(0.0, |sum, contour| sum + signed_area(contour))
}

/// Whether a point lies in one of the shapes.
pub fn contains(shapes: &[Shape], point: [f64; 2]) -> bool {
    shapes.iter().any(|shape| {
        // Even and odd crossings: a hole turns it around.
        shape
            .iter()
            .filter(|contour| inside(contour, point))
            .count()
            % 2
            == 1
    })
}

/// Whether a point lies inside a closed line.
pub(crate) fn inside(contour: &[[f64; 2]], [x, y]: [f64; 2]) -> bool {
    sides(contour)
        .filter(|([_, y0], [_, y1])| (*y0 > y) != (*y1 > y))
        .filter(|([x0, y0], [x1, y1])| x < x0 + (x1 - x0) * (y - y0) / (y1 - y0))
        .count()
        % 2
        == 1
}

/// The sides of a closed line.
pub(crate) fn sides(contour: &[[f64; 2]]) -> impl Iterator<Item = ([f64; 2], [f64; 2])> + '_ {
    let next = contour.iter().cycle().skip(1);
    contour.iter().copied().zip(next.copied())
}

/// The area in a closed line (m²), less than zero if it runs clockwise.
pub(crate) fn signed_area(contour: &[[f64; 2]]) -> f64 {
    let Some(&[x, y]) = contour.first() else {
        return 0.0;
    };
    sides(contour)
        .map(|(p, q)| (p[0] - x) * (q[1] - y) - (q[0] - x) * (p[1] - y))
        .sum::<f64>()
        / 2.0
}

/// The area without all these, in one difference.
#[allow(clippy::ptr_arg)] // The library implements its trait for vectors only.
pub(crate) fn without(area: &Vec<Shape>, forbidden: &Vec<Contour>) -> Vec<Shape> {
    if area.is_empty() || forbidden.is_empty() {
        return area.clone();
    }
    // What cannot be computed is not allowed.
    area.overlay_with_fixed_scale_as::<i64>(
        forbidden,
        OverlayRule::Difference,
        FillRule::NonZero,
        GRID,
    )
    .unwrap_or_default()
}

/// The outline of contours that may overlap.
///
/// ```
/// let square = |x: f64| vec![[x, 0.0], [x + 2.0, 0.0], [x + 2.0, 2.0], [x, 2.0]];
/// let outline = siting::union(&[square(0.0), square(1.0)]);
/// assert_eq!(outline.len(), 1);
/// assert!((siting::area(&outline) - 6.0).abs() < 1e-6);
/// ```
pub fn union(contours: &[Contour]) -> Vec<Shape> {
    let none: Vec<Contour> = Vec::new();
    contours
        .to_vec()
        .overlay_with_fixed_scale_as::<i64>(&none, OverlayRule::Union, FillRule::NonZero, GRID)
        .unwrap_or_default()
}

/// The part of a polygon where `keep` of its points is not below zero; `keep` must be linear.
pub(crate) fn cut(contour: &[[f64; 2]], keep: impl Fn([f64; 2]) -> f64) -> Contour {
    let mut kept = Contour::with_capacity(contour.len() + 2);
    for (p, q) in sides(contour) {
        let (at_p, at_q) = (keep(p), keep(q));
        if at_p >= 0.0 {
            kept.push(p);
        }
        if (at_p >= 0.0) != (at_q >= 0.0) {
            let share = at_p / (at_p - at_q);
            kept.push([p[0] + share * (q[0] - p[0]), p[1] + share * (q[1] - p[1])]);
        }
    }
    kept
}
