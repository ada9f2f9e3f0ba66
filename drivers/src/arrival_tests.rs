//! The dating rules on undisturbed reads, and on a reader that is held up at any point.

use super::*;
use crate::serial_settings::SerialFormat;
use benchhand_testbed::SplitMix64;

/// Frames of ten bytes at 9600 baud: 10.42 ms on the line.
const FRAME: usize = 10;

fn line() -> SerialSettings {
    SerialSettings::new(9600, SerialFormat::N81)
}

fn frame_us() -> u64 {
    line().byte_us() * FRAME as u64
}

/// The ends of this many frames in a read that holds nothing else.
fn ends(frames: usize) -> Vec<usize> {
    (1..=frames).map(|n| n * FRAME).collect()
}

fn read(after_ms: u64, by_ms: u64, frames: usize) -> TimedRead {
    TimedRead {
        after_us: after_ms * 1000,
        by_us: by_ms * 1000,
        bytes: frames * FRAME,
    }
}

fn ms(times: &[u64]) -> Vec<u64> {
    times.iter().map(|us| us / 1000).collect()
}

/// A line on which ten frames came, one every 100 ms, the last at one second.
fn known() -> Arrivals {
    let mut line = Arrivals::new(&line(), 0);
    for n in 1..=10 {
        let at = n * 100;
        assert_eq!(ms(&line.frames(read(at - 30, at, 1), &ends(1))), [at]);
    }
    line
}

#[test]
fn five_frames_found_after_half_a_second_get_the_gauges_period_back() {
    let mut line = known();
    let found = line.frames(read(1000, 1520, 5), &ends(5));
    assert_eq!(ms(&found), [1100, 1200, 1300, 1400, 1500]);
    assert_eq!(ms(&line.frames(read(1520, 1600, 1), &ends(1))), [1600]);
}

#[test]
fn a_frame_that_has_only_half_come_behind_a_burst_changes_nothing() {
    let mut line = known();
    let mut three = read(1000, 1320, 3);
    three.bytes += 4;
    assert_eq!(ms(&line.frames(three, &ends(3))), [1100, 1200, 1300]);
}

#[test]
fn where_no_period_is_known_no_byte_is_faster_than_the_line_and_none_later_than_the_read() {
    let mut line = Arrivals::new(&line(), 0);
    let found = line.frames(read(0, 500, 4), &ends(4));
    assert_eq!(found.last(), Some(&500_000));
    for pair in found.windows(2) {
        assert_eq!(pair[1] - pair[0], frame_us());
    }
}

#[test]
fn a_single_late_frame_is_due_when_it_was_due_but_not_before_the_line_was_found_empty() {
    let mut line = known();
    assert_eq!(ms(&line.frames(read(1000, 1180, 1), &ends(1))), [1100]);
    let mut line = known();
    assert_eq!(ms(&line.frames(read(1150, 1180, 1), &ends(1))), [1150]);
}

#[test]
fn a_gauge_that_rested_is_believed() {
    let mut line = known();
    // The gauge was off for two seconds: one frame came where twenty were due.
    assert_eq!(ms(&line.frames(read(1000, 3000, 1), &ends(1))), [3000]);
    // Ten frames were due and three came: they are placed last, one period apart.
    let mut line = known();
    let found = line.frames(read(1000, 2000, 3), &ends(3));
    assert_eq!(ms(&found), [1800, 1900, 2000]);
}

#[test]
fn frames_behind_one_that_was_itself_dated_late_are_evenly_between_it_and_the_read() {
    let mut line = known();
    // The reader was not held up. The gauge itself was late.
    assert_eq!(ms(&line.frames(read(1170, 1180, 1), &ends(1))), [1170]);
    let found = line.frames(read(1180, 1410, 3), &ends(3));
    assert_eq!(ms(&found), [1250, 1330, 1410]);
}

#[test]
fn a_gauge_that_sends_at_odd_times_has_no_period() {
    let mut line = Arrivals::new(&line(), 0);
    let mut at = 0;
    for pause in [100, 700, 250, 40, 900, 300, 120, 600] {
        at += pause;
        line.frames(read(at - 20, at, 1), &ends(1));
    }
    let found = line.frames(read(at, at + 240, 1), &ends(1));
    assert_eq!(ms(&found), [at + 240]);
}

#[test]
fn an_answer_that_was_read_late_came_behind_its_question_by_the_usual_delay() {
    let mut line = Arrivals::new(&line(), 0);
    for n in 1..=10u64 {
        line.asked(n * 200_000);
        let at = n * 200 + 30;
        assert_eq!(ms(&line.frames(read(at - 10, at, 1), &ends(1))), [at]);
    }
    line.asked(2_200_000);
    let late = read(2190, 2700, 1);
    // The driver is given the same time, so it does not take the answer for a late one.
    assert_eq!(line.byte(late, FRAME) / 1000, 2230);
    assert_eq!(ms(&line.frames(late, &ends(1))), [2230]);
    // The machine was held up before the question had gone out.
    line.asked(3_000_000);
    let late = read(2300, 3400, 1);
    assert_eq!(ms(&line.frames(late, &ends(1))), [3030]);
}

#[test]
fn an_answer_whose_usual_delay_is_not_known_is_never_before_its_question_was_heard_whole() {
    let mut line = Arrivals::new(&line(), 0);
    line.asked(1_000_000);
    let found = line.frames(read(900, 1005, 1), &ends(1));
    assert_eq!(ms(&found), [1005]);
    // The answer's first bytes cannot have come before the question either.
    let mut line = Arrivals::new(&super::tests::line(), 0);
    line.asked(1_000_000);
    assert!(line.byte(read(900, 1005, 1), 1) >= 1_000_000);
}

#[test]
fn a_line_that_was_opened_anew_knows_nothing_of_the_gauge_before() {
    let line = Arrivals::new(&line(), 5_000_000);
    assert_eq!(line.byte(read(4000, 4500, 1), 1), 5_000_000);
}

/// A reader like the port's loop, held up for 50 to 500 ms at any point of it.
struct Reader {
    now_us: u64,
    dice: SplitMix64,
    /// One step in this many stalls.
    one_in: u64,
}

impl Reader {
    fn passes(&mut self, us: u64) {
        self.now_us += us;
        if self.dice.draw().is_multiple_of(self.one_in) {
            self.now_us += 50_000 + self.dice.draw() % 450_000;
        }
    }
}

/// Plays a gauge to a held-up reader. Gives for each frame: when it came, how it is dated, when it
/// was read.
fn dated(seed: u64, one_in: u64) -> Vec<[u64; 3]> {
    let mut dice = SplitMix64::new(seed);
    let period = 40_000 + dice.draw() % 160_000;
    let truth: Vec<u64> = (1..=600)
        .map(|n| n * period + dice.draw() % 2_000)
        .collect();
    let mut reader = Reader {
        now_us: 0,
        dice,
        one_in: u64::MAX,
    };
    let mut line = Arrivals::new(&line(), 0);
    let (mut found, mut empty_us) = (Vec::<[u64; 3]>::new(), 0);
    // The gauge is still sending when the last frame is checked.
    while found.len() < truth.len() - 50 {
        // The reader is not held up while the period is learned.
        if found.len() == 20 {
            reader.one_in = one_in;
        }
        let there = |now: u64| truth.iter().filter(|at| **at <= now).count();
        let called = reader.now_us;
        reader.passes(0);
        if there(reader.now_us) == found.len() {
            let next = truth[found.len()];
            reader.now_us = next.min(reader.now_us + 40_000);
        }
        let mut taken = there(reader.now_us);
        reader.passes(200);
        let after_us = empty_us;
        if taken == found.len() {
            empty_us = called;
            continue;
        }
        let by_us = loop {
            let by_us = reader.now_us;
            reader.passes(50);
            let now = there(reader.now_us);
            if now == taken {
                empty_us = by_us;
                break by_us;
            }
            taken = now;
            reader.passes(50);
        };
        let frames = taken - found.len();
        let one = TimedRead {
            after_us,
            by_us,
            bytes: frames * FRAME,
        };
        let times = line.frames(one, &ends(frames));
        for time in times {
            let came = truth[found.len()];
            assert!(came.max(time) <= by_us, "seed {seed}");
            found.push([came, time, by_us]);
        }
    }
    found
}

#[test]
fn a_reader_that_is_held_up_at_any_point_dates_frames_as_one_that_is_not() {
    let (mut worst, mut worst_read, mut off_much, mut all) = (0, 0, 0, 0);
    for seed in 0..300 {
        let found = dated(seed, 40);
        for pair in found.windows(2) {
            assert!(pair[0][1] < pair[1][1], "seed {seed}: {pair:?}");
        }
        for [came, dated, read] in found {
            let off = came.abs_diff(dated);
            // One read of the line takes 40 ms. Within that time a late frame and a late reader
            // look the same.
            assert!(off <= 40_000, "seed {seed}: {off} µs off at {came}");
            worst = worst.max(off);
            worst_read = worst_read.max(read - came);
            all += 1;
            off_much += u64::from(off > 5_000);
        }
    }
    assert!(
        off_much * 50 <= all,
        "{off_much} of {all} off by more than 5 ms"
    );
    // The check can fail: the time of the read alone is off by as much as the reader was held up.
    assert!(worst_read > 400_000, "{worst_read} against {worst}");
}
