//! The four rules of arithmetic over estimates.

use std::ops::{Add, Div, Mul, Neg, Sub};

use super::Estimate;
use crate::figure::Scalar;

impl Add for Estimate {
    type Output = Estimate;
    fn add(self, other: Estimate) -> Estimate {
        self.combine(1.0, &other, 1.0, self.value + other.value)
    }
}

impl Sub for Estimate {
    type Output = Estimate;
    fn sub(self, other: Estimate) -> Estimate {
        self.combine(1.0, &other, -1.0, self.value - other.value)
    }
}

impl Mul for Estimate {
    type Output = Estimate;
    fn mul(self, other: Estimate) -> Estimate {
        self.combine(other.value, &other, self.value, self.value * other.value)
    }
}

impl Div for Estimate {
    type Output = Estimate;
    fn div(self, other: Estimate) -> Estimate {
        let quotient = self.value / other.value;
        self.combine(1.0 / other.value, &other, -quotient / other.value, quotient)
    }
}

impl Neg for Estimate {
    type Output = Estimate;
    fn neg(self) -> Estimate {
        let value = -self.value;
        self.map(value, -1.0)
    }
}
