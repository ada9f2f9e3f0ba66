//! The four rules of arithmetic over estimates. Operands may be borrowed: `&a - &b` copies neither.

use std::ops::{Add, Div, Mul, Neg, Sub};

use super::Estimate;
use crate::figure::Scalar;

impl Add for &Estimate {
    type Output = Estimate;
    fn add(self, other: &Estimate) -> Estimate {
        self.combine(1.0, other, 1.0, self.value + other.value)
    }
}

impl Sub for &Estimate {
    type Output = Estimate;
    fn sub(self, other: &Estimate) -> Estimate {
        self.combine(1.0, other, -1.0, self.value - other.value)
    }
}

impl Mul for &Estimate {
    type Output = Estimate;
    fn mul(self, other: &Estimate) -> Estimate {
        self.combine(other.value, other, self.value, self.value * other.value)
    }
}

impl Div for &Estimate {
    type Output = Estimate;
    fn div(self, other: &Estimate) -> Estimate {
        let quotient = self.value / other.value;
        self.combine(1.0 / other.value, other, -quotient / other.value, quotient)
    }
}

/// The same rules where one operand or both are owned.
macro_rules! owned_operands {
    ($($rule:ident $method:ident,)*) => {$(
        impl $rule for Estimate {
            type Output = Estimate;
            fn $method(self, other: Estimate) -> Estimate {
                $rule::$method(&self, &other)
            }
        }

        impl $rule<&Estimate> for Estimate {
            type Output = Estimate;
            fn $method(self, other: &Estimate) -> Estimate {
                $rule::$method(&self, other)
            }
        }

        impl $rule<Estimate> for &Estimate {
            type Output = Estimate;
            fn $method(self, other: Estimate) -> Estimate {
                $rule::$method(self, &other)
            }
        }
    )*};
}

owned_operands! {
    Add add,
    Sub sub,
    Mul mul,
    Div div,
}

impl Neg for &Estimate {
    type Output = Estimate;
    fn neg(self) -> Estimate {
        self.map(-self.value, -1.0)
    }
}

impl Neg for Estimate {
    type Output = Estimate;
    fn neg(self) -> Estimate {
        -&self
    }
}
