//! What stations say of themselves, in the table that has one row for each station.

use std::time::{Duration, Instant};

use super::{ShopRows, Value};
use crate::connecting::CHANNEL;
use crate::fault::ShopFault;
use crate::record::StationId;
use crate::said::{OwnWords, StationSaid};

const SAY: &str = "with said as ( \
        insert into benchhand.live (station, said_at, waiting, wrong, routes) \
        values ($1, clock_timestamp(), $2, $3, $4) \
        on conflict (station) do update set said_at = excluded.said_at, \
            waiting = excluded.waiting, wrong = excluded.wrong, routes = excluded.routes \
        returning 1) \
    select pg_notify($5, $6)::text from said";

/// The age is told by the server, so that nobody's clock matters.
const SAID: &str = "select station, \
        greatest(0, extract(epoch from clock_timestamp() - said_at) * 1000)::bigint, \
        waiting, wrong, routes \
    from benchhand.live where said_at > clock_timestamp() - interval '1 day' order by station";

impl ShopRows<'_> {
    /// Overwrites this station's row.
    pub(crate) async fn say(&self, me: &StationId, words: &OwnWords) -> Result<(), ShopFault> {
        let waiting = i64::try_from(words.waiting).unwrap_or(i64::MAX);
        let hint = format!("live {me}");
        let me = me.as_str();
        let values: [Value; 6] = [&me, &waiting, &words.wrong, &words.routes, &CHANNEL, &hint];
        let said = self.client.query_one(SAY, &values);
        self.answer("take what goes on here", said).await.map(drop)
    }

    /// What every station said last.
    pub(crate) async fn said(&self) -> Result<Vec<StationSaid>, ShopFault> {
        let rows = self.answer(
            "tell what goes on at its stations",
            self.client.query(SAID, &[]),
        );
        let now = Instant::now();
        let said = |row: &tokio_postgres::Row| {
            let age = u64::try_from(row.get::<_, i64>(1)).ok()?;
            Some(StationSaid {
                station: StationId::parse(row.get(0))?,
                said: now.checked_sub(Duration::from_millis(age))?,
                waiting: u64::try_from(row.get::<_, i64>(2)).ok()?,
                wrong: row.get(3),
                routes: row.get(4),
            })
        };
        Ok(rows.await?.iter().filter_map(said).collect())
    }
}
