//! The rows of the shop's record: every statement that a station sends.

mod live;
mod pieces;

pub(crate) use pieces::PieceAsked;

use tokio_postgres::types::ToSql;
use tokio_postgres::{Client, Row, Statement};

use crate::address::ShopAddress;
use crate::connecting::CHANNEL;
use crate::fault::ShopFault;
use crate::line::JournalLine;
use crate::pace::ShopPace;
use crate::record::{JobId, JournalHead, StationId};

/// A value that goes with a statement.
type Value<'v> = &'v (dyn ToSql + Sync);

/// A station of the shop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShopStation {
    /// Its number.
    pub station: StationId,
    /// What people call it.
    pub name: String,
    /// Short for people, unique in the shop: A, B, C …
    pub letter: String,
}

/// A line as it stands in the database; nothing of it is believed yet.
#[derive(Debug, Clone)]
pub(crate) struct LineRow {
    pub copy: i16,
    pub line: JournalLine,
}

/// How far a journal goes in the database.
#[derive(Debug, Clone)]
pub(crate) struct HeadRow {
    pub head: JournalHead,
    /// Whether it is the journal that opened the job.
    pub opens: bool,
}

/// The statements, prepared on one connection.
pub(crate) struct ShopRows<'a> {
    client: &'a Client,
    at: &'a ShopAddress,
    limit: std::time::Duration,
    add: Statement,
    lines: Statement,
    heads: Statement,
}

/// One statement, so that it is one transaction and one way there and back: the journals that are
/// new, the lines, and the announcement. What is there already stays as it is.
const ADD: &str = "with sent as ( \
        select * from unnest($2::text[], $3::bigint[], $4::smallint[], $5::text[], $6::text[], $7::text[]) \
            as s (job, number, copy, hash, prev, text)), \
    opened as ( \
        insert into benchhand.journals (job, station) select distinct job, $1::text from sent \
        on conflict do nothing), \
    added as ( \
        insert into benchhand.lines (job, station, number, copy, hash, prev, text) \
        select job, $1, number, copy, hash, prev, text from sent order by job, number \
        on conflict do nothing returning number) \
    select (select count(*) from added), case when exists (select from added) \
        then pg_notify($8, $9)::text end";

const LINES: &str = "select number, copy, hash, text from benchhand.lines \
    where job = $1 and station = $2 and number > $3 and number <= $4 order by number, copy";

const HEADS: &str = "select job, station, number, hash, opens from benchhand.heads";

impl<'a> ShopRows<'a> {
    pub(crate) async fn new(
        client: &'a Client,
        at: &'a ShopAddress,
        pace: &ShopPace,
    ) -> Result<Self, ShopFault> {
        let prepare = async |text| {
            let made = client.prepare(text).await;
            made.map_err(|error| ShopFault::of(&error, at))
        };
        Ok(Self {
            client,
            at,
            limit: pace.statement,
            add: prepare(ADD).await?,
            lines: prepare(LINES).await?,
            heads: prepare(HEADS).await?,
        })
    }

    /// Waits for an answer, but not for ever: a network that is gone gives none.
    async fn answer<T>(
        &self,
        what: &'static str,
        asked: impl Future<Output = Result<T, tokio_postgres::Error>>,
    ) -> Result<T, ShopFault> {
        let seconds = self.limit.as_secs();
        match tokio::time::timeout(self.limit, asked).await {
            Ok(answer) => answer.map_err(|error| ShopFault::of(&error, self.at)),
            Err(_) => Err(ShopFault::TookTooLong { what, seconds }),
        }
    }

    /// Puts this station into the list of the shop's stations, with the first letter that is free.
    /// Gives its letter. A station that is there already stays as it is.
    pub(crate) async fn register(&self, me: &StationId, name: &str) -> Result<String, ShopFault> {
        let add = "insert into benchhand.stations (station, name, letter) values ($1, $2, $3) \
            on conflict do nothing";
        let mine = "select role::text, role = current_user, letter from benchhand.stations \
            where station = $1";
        let me = me.as_str();
        let number: [Value; 1] = [&me];
        loop {
            let found = self.client.query_opt(mine, &number);
            if let Some(row) = self.answer("tell its stations", found).await? {
                return match row.get(1) {
                    true => Ok(row.get(2)),
                    false => Err(ShopFault::OtherRole(row.get(0))),
                };
            }
            // Another station may take the same letter in between: then the next round finds it taken.
            let taken = self.stations().await?;
            let is_free = |letter: &String| taken.iter().all(|one| one.letter != *letter);
            let letter = letters().find(is_free).unwrap_or_default();
            let values: [Value; 3] = [&me, &name, &letter];
            let added = self.client.execute(add, &values);
            self.answer("register", added).await?;
        }
    }

    /// Lets another role connect as a station. Row security leaves that to the tables' owner.
    pub(crate) async fn give(&self, station: &StationId, role: &str) -> Result<(), ShopFault> {
        let give = "update benchhand.stations s set role = r.rolname from pg_roles r \
            where s.station = $1 and r.rolname = $2 and pg_has_role(r.oid, $3::name, 'MEMBER')";
        let group = format!("{}_station", self.at.database());
        let station = station.as_str();
        let values: [Value; 3] = [&station, &role, &group];
        let given = self.client.execute(give, &values);
        match self.answer("give a station", given).await? {
            0 => Err(ShopFault::NotGiven {
                role: role.to_owned(),
                group,
            }),
            _ => Ok(()),
        }
    }

    pub(crate) async fn stations(&self) -> Result<Vec<ShopStation>, ShopFault> {
        let all =
            "select station, name, letter from benchhand.stations order by joined_at, station";
        let rows = self.answer("tell its stations", self.client.query(all, &[]));
        let rows = rows.await?;
        let station = |row: &Row| {
            let station = StationId::parse(row.get(0))?;
            let (name, letter) = (row.get(1), row.get(2));
            Some(ShopStation {
                station,
                name,
                letter,
            })
        };
        Ok(rows.iter().filter_map(station).collect())
    }

    pub(crate) async fn heads(&self) -> Result<Vec<HeadRow>, ShopFault> {
        let rows = self.answer("tell its journals", self.client.query(&self.heads, &[]));
        let head = |row: &Row| {
            let head = JournalHead {
                job: JobId::parse(row.get(0))?,
                station: StationId::parse(row.get(1))?,
                number: u64::try_from(row.get::<_, i64>(2)).ok()?,
                hash: row.get(3),
            };
            let opens = row.get(4);
            Some(HeadRow { head, opens })
        };
        Ok(rows.await?.iter().filter_map(head).collect())
    }

    /// All copies of the lines behind `after` and up to `last`.
    pub(crate) async fn lines(
        &self,
        job: &JobId,
        station: &StationId,
        after: u64,
        last: u64,
    ) -> Result<Vec<LineRow>, ShopFault> {
        let (after, last) = (place(after), place(last));
        let (job, station) = (job.as_str(), station.as_str());
        let values: [Value; 4] = [&job, &station, &after, &last];
        let asked = self.client.query(&self.lines, &values);
        let rows = self.answer("hand lines out", asked).await?;
        let line = |row: &Row| LineRow {
            copy: row.get(1),
            line: JournalLine {
                number: u64::try_from(row.get::<_, i64>(0)).unwrap_or_default(),
                hash: row.get(2),
                text: row.get(3),
            },
        };
        Ok(rows.iter().map(line).collect())
    }

    /// Adds lines of this station; those that are there already stay as they are. Gives how many were
    /// new.
    pub(crate) async fn add(
        &self,
        me: &StationId,
        lines: &[(JobId, i16, JournalLine)],
        hint: &str,
    ) -> Result<u64, ShopFault> {
        let jobs: Vec<&str> = lines.iter().map(|(job, ..)| job.as_str()).collect();
        let numbers: Vec<i64> = lines.iter().map(|(.., line)| place(line.number)).collect();
        let copies: Vec<i16> = lines.iter().map(|(_, copy, _)| *copy).collect();
        let hashes: Vec<&str> = lines.iter().map(|(.., line)| line.hash.as_str()).collect();
        let prevs: Vec<&str> = lines
            .iter()
            .map(|(.., line)| line.prev().unwrap_or_default())
            .collect();
        let texts: Vec<&str> = lines.iter().map(|(.., line)| line.text.as_str()).collect();
        let me = me.as_str();
        let values: [Value; 9] = [
            &me, &jobs, &numbers, &copies, &hashes, &prevs, &texts, &CHANNEL, &hint,
        ];
        let asked = self.client.query_one(&self.add, &values);
        let row = self.answer("take lines", asked).await?;
        Ok(u64::try_from(row.get::<_, i64>(0)).unwrap_or_default())
    }

    /// Tells the others something; nothing is kept of it.
    pub(crate) async fn tell(&self, hint: &str) -> Result<(), ShopFault> {
        let tell = "select pg_notify($1, $2)::text";
        let values: [Value; 2] = [&CHANNEL, &hint];
        let told = self.client.query_one(tell, &values);
        self.answer("pass a word on", told).await.map(drop)
    }
}

/// A place in a journal as the database counts.
fn place(number: u64) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}

/// A, B … Z, AA, AB …
fn letters() -> impl Iterator<Item = String> {
    (0_u32..).map(|index| {
        let mut letters = Vec::new();
        let mut rest = index + 1;
        while rest > 0 {
            letters.push(b'A' + u8::try_from((rest - 1) % 26).unwrap_or_default());
            rest = (rest - 1) / 26;
        }
        letters.iter().rev().map(|byte| char::from(*byte)).collect()
    })
}

#[cfg(test)]
mod tests {
    #[test]
    fn letters_go_on_behind_z() {
        let all: Vec<String> = super::letters().take(704).collect();
        assert_eq!(all[..2], ["A", "B"]);
        assert_eq!(all[25..28], ["Z", "AA", "AB"]);
        assert_eq!(all[701..704], ["ZZ", "AAA", "AAB"]);
    }
}
