//! Distribution of a sum of independent parts (placeholder until merged).
/// Shape.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// Normal
    Normal,
    /// Rectangular
    Rectangular,
    /// Triangular
    Triangular,
    /// Arcsine
    Arcsine,
}
/// Part.
#[derive(Clone, Copy, Debug)]
pub struct Part {
    /// u
    pub u: f64,
    /// shape
    pub shape: Shape,
    /// dof
    pub dof: f64,
}
/// half width
pub fn half_width(parts: &[Part], p: f64) -> f64 {
    let u = parts.iter().map(|p| p.u * p.u).sum::<f64>().sqrt();
    u * crate::stats::normal_quantile(0.5 + p / 2.0)
}
/// cdf
pub fn cdf(parts: &[Part], x: f64) -> f64 {
    let u = parts.iter().map(|p| p.u * p.u).sum::<f64>().sqrt();
    crate::stats::normal_cdf(x / u)
}
