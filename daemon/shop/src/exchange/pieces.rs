//! Pieces of recorded streams on demand: what this station wants is asked for, what others want is made
//! beside the exchange and sent, one at a time.

use std::sync::Arc;

use tokio::sync::mpsc;

use crate::fault::ShopFault;
use crate::pieces::{PIECE_MOST, PieceAnswer};
use crate::rows::PieceAsked;
use crate::version::WITH_PIECES;

use super::{Exchange, ExchangeEnd};

/// The words about a piece that is not there, in bytes. The table takes no longer ones.
const WHY_MOST: usize = 1000;

/// Where asking and answering stands over one connection.
pub(super) struct PieceTurn {
    /// Whether the database has the tables.
    is_there: bool,
    /// Whether another station may have asked something.
    asked: bool,
    /// Whether an answer may have come.
    answered: bool,
    /// Whether one is being made here.
    making: bool,
    made: mpsc::UnboundedReceiver<(PieceAsked, PieceAnswer)>,
    to_made: mpsc::UnboundedSender<(PieceAsked, PieceAnswer)>,
}

impl PieceTurn {
    pub(super) fn of(version: i32) -> Self {
        let (to_made, made) = mpsc::unbounded_channel();
        Self {
            is_there: version >= WITH_PIECES,
            asked: true,
            answered: true,
            making: false,
            made,
            to_made,
        }
    }

    pub(super) fn hear_question(&mut self) {
        self.asked = true;
    }

    pub(super) fn hear_answer(&mut self) {
        self.answered = true;
    }

    /// Waits until a piece is made here.
    pub(super) async fn is_made(&mut self) -> (PieceAsked, PieceAnswer) {
        match self.made.recv().await {
            Some(made) => made,
            // This turn holds a sender itself.
            None => std::future::pending().await,
        }
    }
}

impl Exchange<'_> {
    /// Looks anew for everything that a hint may have been missed of.
    pub(super) async fn look_for_pieces(&mut self) -> Result<(), ExchangeEnd> {
        self.memory.shelf.tell_anew();
        self.pieces.asked = true;
        self.pieces.answered = true;
        let cleared = match self.pieces.is_there {
            true => self.rows.clear_pieces(&self.me).await,
            false => Ok(()),
        };
        self.without_pieces(cleared)
    }

    /// Asks, answers and takes in what is due.
    pub(super) async fn pieces_some(&mut self) -> Result<(), ExchangeEnd> {
        if !self.pieces.is_there {
            return Ok(());
        }
        let done = self.pieces_turn().await;
        self.without_pieces(done)
    }

    /// What is no record must not hold the record up: where the server refuses, it is left out.
    fn without_pieces(&mut self, done: Result<(), ShopFault>) -> Result<(), ExchangeEnd> {
        match done {
            Err(ShopFault::Server(words)) => {
                tracing::warn!(words, "pieces of recorded streams are not exchanged");
                self.pieces.is_there = false;
                Ok(())
            }
            other => Ok(other?),
        }
    }

    async fn pieces_turn(&mut self) -> Result<(), ShopFault> {
        while let Some((slot, key)) = self.memory.shelf.untold() {
            self.rows.ask_piece(&self.me, slot, &key).await?;
        }
        if std::mem::take(&mut self.pieces.answered) {
            for (slot, key, answer) in self.rows.came(&self.me).await? {
                self.memory.shelf.came(slot, &key, answer);
            }
        }
        if self.pieces.asked && !self.pieces.making {
            match self.rows.asked(&self.me).await? {
                Some(asked) => self.make(asked),
                None => self.pieces.asked = false,
            }
        }
        Ok(())
    }

    /// Has the record make a piece, beside the exchange.
    fn make(&mut self, asked: PieceAsked) {
        self.pieces.making = true;
        let record = Arc::clone(&self.memory.record);
        let to_made = self.pieces.to_made.clone();
        tokio::task::spawn_blocking(move || {
            let made = record.piece(&asked.key);
            let answer = match made {
                Ok(piece) if piece.len() <= PIECE_MOST => Ok(piece),
                Ok(_) => Err("the piece is longer than what is passed on".to_owned()),
                Err(fault) => Err(in_short(&fault.words)),
            };
            // Nobody waits for it once the connection is over.
            let _ = to_made.send((asked, answer));
        });
    }

    /// Sends a piece that was made.
    pub(super) async fn send_made(
        &mut self,
        (asked, answer): (PieceAsked, PieceAnswer),
    ) -> Result<(), ExchangeEnd> {
        self.pieces.making = false;
        let sent = self.rows.send_piece(&asked, &answer).await;
        self.without_pieces(sent)
    }
}

fn in_short(words: &str) -> String {
    let mut end = WHY_MOST.min(words.len());
    while !words.is_char_boundary(end) {
        end -= 1;
    }
    let words = words.get(..end).unwrap_or_default();
    match words.is_empty() {
        true => "its holder does not say why".to_owned(),
        false => words.to_owned(),
    }
}
