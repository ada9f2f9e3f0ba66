//! Questions about recorded streams and their answers, in tables that hold so many of each.

use tokio_postgres::Row;

use super::{ShopRows, Value};
use crate::connecting::CHANNEL;
use crate::fault::ShopFault;
use crate::pieces::PieceAnswer;
use crate::record::{JobId, PieceAbout, PieceKey, StationId};

/// A question of another station.
#[derive(Debug, Clone)]
pub(crate) struct PieceAsked {
    pub asker: StationId,
    pub slot: i16,
    pub key: PieceKey,
}

const ASK: &str = "with asked as ( \
        insert into benchhand.asked (asker, slot, holder, job, seq, about) \
        values ($1, $2, $3, $4, $5, $6) \
        on conflict (asker, slot) do update set holder = excluded.holder, job = excluded.job, \
            seq = excluded.seq, about = excluded.about, asked_at = clock_timestamp() \
        returning 1) \
    select pg_notify($7, $8)::text from asked";

const ASKED: &str = "select a.asker, a.slot, a.job, a.seq, a.about from benchhand.asked a \
    where a.holder = $1 and not exists (select from benchhand.pieces p \
        where p.holder = a.holder and p.asker = a.asker and p.slot = a.slot and p.job = a.job \
            and p.seq = a.seq and p.about = a.about and p.sent_at >= a.asked_at) \
    order by a.asked_at limit 1";

/// A question that was taken back meanwhile is answered no more.
const SEND: &str = "with sent as ( \
        insert into benchhand.pieces (holder, asker, slot, job, seq, about, piece, why, sent_at) \
        select $1, $2, $3, $4, $5, $6, $7, $8, clock_timestamp() from benchhand.asked a \
        where a.asker = $2 and a.slot = $3 and a.holder = $1 \
        on conflict (holder, asker, slot) do update set job = excluded.job, seq = excluded.seq, \
            about = excluded.about, piece = excluded.piece, why = excluded.why, \
            sent_at = excluded.sent_at \
        returning 1) \
    select pg_notify($9, $10)::text from sent";

/// An older program answers with another word than it was asked.
const CAME: &str = "select p.holder, p.slot, p.job, p.seq, p.piece, p.why, a.about, \
        p.about = a.about \
    from benchhand.pieces p join benchhand.asked a using (asker, slot, holder, job, seq) \
    where p.asker = $1 and p.sent_at >= a.asked_at";

/// What was answered or was asked long ago is cleared away, by whoever wrote it.
const CLEAR: [&str; 2] = [
    "delete from benchhand.asked \
        where asker = $1 and asked_at < clock_timestamp() - interval '1 hour'",
    "delete from benchhand.pieces p where p.holder = $1 and not exists ( \
        select from benchhand.asked a where a.asker = p.asker and a.slot = p.slot \
            and a.holder = p.holder and a.job = p.job and a.seq = p.seq)",
];

impl ShopRows<'_> {
    pub(crate) async fn ask_piece(
        &self,
        me: &StationId,
        slot: i16,
        key: &PieceKey,
    ) -> Result<(), ShopFault> {
        let hint = format!("ask {}", key.holder);
        let seq = i64::try_from(key.seq).unwrap_or(i64::MAX);
        let (me, holder, job) = (me.as_str(), key.holder.as_str(), key.job.as_str());
        let about = key.about.word();
        let values: [Value; 8] = [&me, &slot, &holder, &job, &seq, &about, &CHANNEL, &hint];
        let asked = self.client.query_opt(ASK, &values);
        let what = "pass a question on";
        self.answer(what, asked).await.map(drop)
    }

    /// The oldest question to this station that has no answer yet.
    pub(crate) async fn asked(&self, me: &StationId) -> Result<Option<PieceAsked>, ShopFault> {
        let of = me.as_str();
        let values: [Value; 1] = [&of];
        let row = self.client.query_opt(ASKED, &values);
        let row = self.answer("tell what is asked", row).await?;
        Ok(row.and_then(|row| {
            let key = PieceKey {
                holder: me.clone(),
                job: JobId::parse(row.get(2))?,
                seq: u64::try_from(row.get::<_, i64>(3)).ok()?,
                about: PieceAbout::of(row.get(4)),
            };
            Some(PieceAsked {
                asker: StationId::parse(row.get(0))?,
                slot: row.get(1),
                key,
            })
        }))
    }

    pub(crate) async fn send_piece(
        &self,
        asked: &PieceAsked,
        answer: &PieceAnswer,
    ) -> Result<(), ShopFault> {
        let hint = format!("piece {}", asked.asker);
        let key = &asked.key;
        let seq = i64::try_from(key.seq).unwrap_or(i64::MAX);
        let (piece, why): (&[u8], &str) = match answer {
            Ok(piece) => (piece, ""),
            Err(why) => (&[], why),
        };
        let (holder, asker) = (key.holder.as_str(), asked.asker.as_str());
        let (job, about) = (key.job.as_str(), key.about.word());
        let values: [Value; 10] = [
            &holder,
            &asker,
            &asked.slot,
            &job,
            &seq,
            &about,
            &piece,
            &why,
            &CHANNEL,
            &hint,
        ];
        let sent = self.client.query_opt(SEND, &values);
        self.answer("take a piece", sent).await.map(drop)
    }

    /// The pieces that came for this station, each with its place; their questions are taken back.
    pub(crate) async fn came(
        &self,
        me: &StationId,
    ) -> Result<Vec<(i16, PieceKey, PieceAnswer)>, ShopFault> {
        let of = me.as_str();
        let values: [Value; 1] = [&of];
        let rows = self.client.query(CAME, &values);
        let rows = self.answer("hand pieces out", rows).await?;
        let piece = |row: &Row| {
            let key = PieceKey {
                holder: StationId::parse(row.get(0))?,
                job: JobId::parse(row.get(2))?,
                seq: u64::try_from(row.get::<_, i64>(3)).ok()?,
                about: PieceAbout::of(row.get(6)),
            };
            let why: String = row.get(5);
            let answer = match (why.is_empty(), row.get(7)) {
                (true, true) => Ok(row.get(4)),
                (false, true) => Err(why),
                (_, false) => Err("its program is older than the one that asks".to_owned()),
            };
            Some((row.get(1), key, answer))
        };
        let came: Vec<(i16, PieceKey, PieceAnswer)> = rows.iter().filter_map(piece).collect();
        let slots: Vec<i16> = came.iter().map(|(slot, ..)| *slot).collect();
        let back = "delete from benchhand.asked where asker = $1 and slot = any($2)";
        let values: [Value; 2] = [&of, &slots];
        let taken = self.client.execute(back, &values);
        self.answer("take a question back", taken).await?;
        Ok(came)
    }

    /// Clears away what this station wrote and nobody needs any more.
    pub(crate) async fn clear_pieces(&self, me: &StationId) -> Result<(), ShopFault> {
        let of = me.as_str();
        let values: [Value; 1] = [&of];
        for clear in CLEAR {
            let cleared = self.client.execute(clear, &values);
            self.answer("clear pieces away", cleared).await?;
        }
        Ok(())
    }
}
