//! Pieces of recorded streams on demand, over a real server.

#![cfg(target_os = "linux")]

mod common;

use std::time::{Duration, Instant};

use benchhand_shop::{PIECE_MOST, PieceAbout, PieceAnswer, PieceKey};

use common::{TestStation, two};

/// Wants a piece until there is an answer.
async fn wanted(station: &TestStation, key: &PieceKey) -> PieceAnswer {
    let end = Instant::now() + Duration::from_secs(60);
    loop {
        if let Some(answer) = station.link.want_piece(key) {
            return answer;
        }
        assert!(Instant::now() < end, "no answer in time");
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_piece_comes_when_it_is_asked_for_and_is_cleared_away() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let (server, mut deck, flow) = two().await;
    let job = deck.open("one");
    deck.until_sent().await;
    let key = |seq| PieceKey {
        holder: deck.me(),
        job: job.clone(),
        seq,
        about: PieceAbout::Trace,
    };
    deck.record.has_piece(7, vec![1; PIECE_MOST]);
    deck.record.has_piece(8, vec![1; PIECE_MOST + 1]);
    assert_eq!(wanted(&flow, &key(7)).await, Ok(vec![1; PIECE_MOST]));
    let too_long = wanted(&flow, &key(8)).await.expect_err("too long");
    assert!(too_long.contains("longer"), "{too_long}");
    let none = wanted(&flow, &key(9)).await.expect_err("there is none");
    assert!(none.contains("no piece 9"), "{none}");
    // Two questions about one reading are two.
    let anew = PieceKey {
        about: PieceAbout::Recomputed,
        ..key(7)
    };
    assert_eq!(wanted(&flow, &anew).await, Ok(b"7 anew".to_vec()));
    assert_eq!(wanted(&flow, &key(7)).await, Ok(vec![1; PIECE_MOST]));
    // Lines go on meanwhile and afterwards.
    deck.write(&job, "\"fact\":\"final\",\"value\":1");
    flow.until_held(&job, &deck.me(), 2).await;
    let end = Instant::now() + Duration::from_secs(60);
    let left =
        "select (select count(*) from benchhand.asked), (select count(*) from benchhand.pieces)";
    while server.sql("shop", left).trim() != "0|0" {
        assert!(Instant::now() < end, "{}", server.sql("shop", left));
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_holder_that_was_away_answers_when_it_is_back() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let (server, mut deck, flow) = two().await;
    let job = deck.open("one");
    deck.until_sent().await;
    deck.record.has_piece(7, vec![5]);
    deck.link.stop().await;
    let key = PieceKey {
        holder: deck.me(),
        job,
        seq: 7,
        about: PieceAbout::Trace,
    };
    assert_eq!(flow.link.want_piece(&key), None);
    let record = std::sync::Arc::clone(&deck.record);
    let _back = TestStation::with(&server, "deck", record);
    assert_eq!(wanted(&flow, &key).await, Ok(vec![5]));
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_role_asks_and_answers_for_its_own_station_alone() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let (server, deck, flow) = two().await;
    deck.link.stop().await;
    flow.link.stop().await;
    let (mine, other) = (flow.me(), deck.me());
    let job = "a".repeat(64);
    let ask = |asker: &str, slot: u8| {
        format!(
            "insert into benchhand.asked (asker, slot, holder, job, seq) \
             values ('{asker}', {slot}, '{other}', '{job}', 1)"
        )
    };
    let send = |holder: &str| {
        format!(
            "insert into benchhand.pieces (holder, asker, slot, job, seq, piece) \
             values ('{holder}', '{mine}', 0, '{job}', 1, '')"
        )
    };
    let refused = |role: &str, statement: &str| {
        let said = server.sql_as(role, "shop", statement);
        said.expect_err("it must be refused")
    };
    // Nobody asked yet: there is nothing to be sent.
    assert!(refused("deck", &send(other.as_str())).contains("row-level security"));
    assert!(refused("flow", &ask(other.as_str(), 0)).contains("row-level security"));
    assert!(refused("flow", &ask(mine.as_str(), 16)).contains("check constraint"));
    assert!(refused("office", &ask(mine.as_str(), 0)).contains("permission denied"));
    let done = server.sql_as("flow", "shop", &ask(mine.as_str(), 0));
    done.expect("its own question");
    // Another one cannot answer in the holder's name, nor the holder in another's.
    assert!(refused("flow", &send(other.as_str())).contains("row-level security"));
    assert!(refused("flow", &send(mine.as_str())).contains("row-level security"));
    let done = server.sql_as("deck", "shop", &send(other.as_str()));
    done.expect("it was asked");
    // Row security shows nobody a row of another's to delete.
    let delete = "delete from benchhand.pieces; delete from benchhand.asked";
    let done = server.sql_as("flow", "shop", "delete from benchhand.pieces");
    done.expect("nothing is deleted");
    assert_eq!(
        server
            .sql("shop", "select count(*) from benchhand.pieces")
            .trim(),
        "1"
    );
    assert!(refused("office", delete).contains("permission denied"));
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_holder_whose_program_is_older_is_told_to_be() {
    if !benchhand_testbed::postgres::is_here() {
        return;
    }
    let (server, mut deck, flow) = two().await;
    let job = deck.open("one");
    deck.until_sent().await;
    deck.link.stop().await;
    let key = PieceKey {
        holder: deck.me(),
        job: job.clone(),
        seq: 7,
        about: PieceAbout::Recomputed,
    };
    assert_eq!(flow.link.want_piece(&key), None);
    // An older program says nothing of what its answer is about.
    let answer = format!(
        "with sent as (insert into benchhand.pieces (holder, asker, slot, job, seq, piece, why) \
            select holder, asker, slot, job, seq, '', 'no such reading' from benchhand.asked \
            where holder = '{}' returning asker) \
         select count(pg_notify('benchhand_lines', 'piece ' || asker)) from sent",
        deck.me()
    );
    let end = Instant::now() + Duration::from_secs(60);
    while server
        .sql_as("deck", "shop", &answer)
        .expect("it may")
        .trim()
        == "0"
    {
        assert!(Instant::now() < end, "it was never asked");
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
    let why = wanted(&flow, &key).await.expect_err("no answer to that");
    assert!(why.contains("older"), "{why}");
}
