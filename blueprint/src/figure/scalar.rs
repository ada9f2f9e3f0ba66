//! The trait through which a formula is written once for plain numbers and for estimates.

use std::ops::{Add, Div, Mul, Neg, Sub};

/// A number that a formula can be calculated with: `f64`, or an [`Estimate`](super::Estimate)
/// that carries the first derivatives along. The right operand may be borrowed.
pub trait Scalar:
    Clone
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
    + for<'a> Add<&'a Self, Output = Self>
    + for<'a> Sub<&'a Self, Output = Self>
    + for<'a> Mul<&'a Self, Output = Self>
    + for<'a> Div<&'a Self, Output = Self>
{
    /// An exact number.
    fn exact(value: f64) -> Self;

    /// The value without its uncertainty.
    fn value(&self) -> f64;

    /// A function of this number, given its value and its slope here.
    fn map(&self, value: f64, slope: f64) -> Self;

    /// This number times an exact one.
    fn scale(&self, factor: f64) -> Self {
        self.map(self.value() * factor, factor)
    }

    /// This number plus an exact one.
    fn offset(&self, addend: f64) -> Self {
        self.map(self.value() + addend, 1.0)
    }

    /// The square.
    fn square(&self) -> Self {
        let x = self.value();
        self.map(x * x, 2.0 * x)
    }

    /// The square root. The slope at 0 is infinite.
    fn sqrt(&self) -> Self {
        let root = self.value().sqrt();
        self.map(root, 0.5 / root)
    }

    /// A power with an exact exponent.
    fn powf(&self, exponent: f64) -> Self {
        let x = self.value();
        self.map(x.powf(exponent), exponent * x.powf(exponent - 1.0))
    }

    /// The exponential.
    fn exp(&self) -> Self {
        let y = self.value().exp();
        self.map(y, y)
    }

    /// The natural logarithm.
    fn ln(&self) -> Self {
        let x = self.value();
        self.map(x.ln(), 1.0 / x)
    }

    /// The sine of an angle in radians.
    fn sin(&self) -> Self {
        let (sin, cos) = self.value().sin_cos();
        self.map(sin, cos)
    }

    /// The cosine of an angle in radians.
    fn cos(&self) -> Self {
        let (sin, cos) = self.value().sin_cos();
        self.map(cos, -sin)
    }

    /// The angle in radians whose sine this is.
    fn asin(&self) -> Self {
        let x = self.value();
        self.map(x.asin(), 1.0 / (1.0 - x * x).sqrt())
    }

    /// One over this number.
    fn recip(&self) -> Self {
        let y = 1.0 / self.value();
        self.map(y, -y * y)
    }
}

impl Scalar for f64 {
    fn exact(value: f64) -> f64 {
        value
    }

    fn value(&self) -> f64 {
        *self
    }

    fn map(&self, value: f64, _slope: f64) -> f64 {
        value
    }
}
