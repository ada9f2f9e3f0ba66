//! Orders of a job: kept, and shown beside what was measured since.

use benchhand_wire::{JobOrders, OrderJob, OrderKept, OrdersAnswer, Reason, Refusal};
use jiff::civil::Date;
use jiff::tz::TimeZone;

use super::{Answers, Desk};
use crate::known::initials::by;
use crate::known::inputs;
use crate::known::{orders, told};
use crate::store::fact::{Fact, OrderedParts};
use crate::store::stamped::Stamped;

impl Answers<OrderJob> for Desk {
    fn answer(&self, ask: OrderJob, key: Option<&str>) -> Result<OrderKept, Refusal> {
        let (view, _) = self.keeper.view(&ask.job)?;
        let engine = inputs::engine(&view)?;
        let said = |text: Option<String>| {
            let text = text.map(|text| text.trim().to_owned());
            text.filter(|text| !text.is_empty())
        };
        let parts = ask.parts.iter().map(|part| orders::typed(&engine, part));
        let taken = ask.take_back.iter();
        let taken = taken.map(|name| orders::named(&engine, name).map(|(name, ..)| name));
        let order = OrderedParts {
            parts: parts.collect::<Result<_, _>>()?,
            taken_back: taken.collect::<Result<_, _>>()?,
            from: said(ask.from),
            on: said(ask.on).map(|on| self.day(&on)).transpose()?,
            by: by(&self.keeper, ask.by)?,
            sheet: said(ask.sheet),
            note: said(ask.note),
        };
        if let Some(hash) = &order.sheet
            && self.since(&ask.job, hash, &ask.sheet_journals)?.is_none()
        {
            return Err(Refusal::new(
                Reason::BadInput,
                format!(
                    "the record of {} has no entry with the hash {hash}",
                    ask.job
                ),
            )
            .expected("the hash of a sheet of this job")
            .todo("name the job that the sheet is of, or type the sizes without the sheet"));
        }
        let before = orders::touched(&view, &engine, &order);
        let fact = Fact::Ordered(order.clone());
        let ack = self.keeper.append(&ask.job, fact, key)?;
        let (view, _) = self.keeper.view(&ask.job)?;
        let kept = view.orders().iter().find(|kept| kept.seq == ack.seq);
        let kept = kept.cloned().unwrap_or(Stamped {
            seq: ack.seq,
            at: self.keeper.clock().now_utc(),
            what: order,
        });
        Ok(OrderKept {
            id: ack.seq,
            order: orders::shown(&view, &engine, &kept),
            replaces: before.into_iter().filter(|seq| *seq != ack.seq).collect(),
        })
    }
}

impl Desk {
    /// A day as it was typed; none that is still to come.
    fn day(&self, typed: &str) -> Result<Date, Refusal> {
        let bad = |found: String| {
            Refusal::new(Reason::BadInput, found)
                .expected("the day of the order as year-month-day, e.g. 2026-03-01")
        };
        let day: Date = typed
            .parse()
            .map_err(|_| bad(format!("{typed:?} is no day")))?;
        // The other side of the world may be a day ahead.
        let today = self.keeper.clock().now_utc().to_zoned(TimeZone::UTC).date();
        match today.tomorrow().is_ok_and(|tomorrow| day > tomorrow) {
            true => Err(bad(format!("{typed} is still to come"))),
            false => Ok(day),
        }
    }
}

impl Answers<JobOrders> for Desk {
    fn answer(&self, ask: JobOrders, _: Option<&str>) -> Result<OrdersAnswer, Refusal> {
        let (view, _) = self.keeper.view(&ask.job)?;
        let asked = told::asked(&self.keeper, &view, ask.stage.as_deref())?;
        let beside = orders::beside(&view, &asked)?;
        let document = beside.iter().map(serde_json::to_value);
        let all = view.orders().iter();
        Ok(OrdersAnswer {
            job: ask.job,
            stage: asked.stage.clone(),
            orders: all
                .map(|one| orders::shown(&view, &asked.engine, one))
                .collect(),
            document: document
                .collect::<Result<_, _>>()
                .map_err(|e| Refusal::new(Reason::Unavailable, format!("the orders: {e}")))?,
        })
    }
}
