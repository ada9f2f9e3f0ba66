//! Which order holds for which cylinder.

use crate::store::fact::{OrderedPart, OrderedParts};
use crate::store::view::{JobView, Stamped};

impl JobView {
    /// Every order and every taking back, oldest first.
    #[must_use]
    pub fn orders(&self) -> &[Stamped<OrderedParts>] {
        &self.orders
    }

    /// The order that holds for a size (`crown`) of a cylinder: the last one that names it, unless
    /// it was taken back since.
    #[must_use]
    pub fn ordered(
        &self,
        size: &str,
        cylinder: u32,
    ) -> Option<(&Stamped<OrderedParts>, &OrderedPart)> {
        self.orders_of(size, cylinder).into_iter().next()
    }

    /// Every order of a size (`crown`) of a cylinder since the last one that was taken back, the
    /// newest first.
    #[must_use]
    pub fn orders_of(
        &self,
        size: &str,
        cylinder: u32,
    ) -> Vec<(&Stamped<OrderedParts>, &OrderedPart)> {
        let mut all = Vec::new();
        for order in self.orders.iter().rev() {
            if let Some(part) = order.what.part(size, cylinder) {
                all.push((order, part));
            } else if order.what.takes_back(size, cylinder) {
                break;
            }
        }
        all
    }

    /// Whether an order of this name stands that could be taken back: `crown`, or `crown/3`.
    #[must_use]
    pub(crate) fn order_stands(&self, name: &str) -> bool {
        // What was ordered for all may be taken back for one of them.
        if let Some((size, cylinder)) = name.split_once('/')
            && let Ok(cylinder) = cylinder.parse()
        {
            return self.ordered(size, cylinder).is_some();
        }
        for order in self.orders.iter().rev() {
            if order.what.parts.iter().any(|one| one.part == name) {
                return true;
            }
            let mut taken = order.what.taken_back.iter();
            if taken.any(|taken| taken == name) {
                return false;
            }
        }
        false
    }
}
