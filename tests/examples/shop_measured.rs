//! What a shop costs its stations, and how late they see each other: daemons of their own, servers that
//! sync every commit, a gauge on true time. Prints what was measured.
//!
//! First how fast a station acknowledges readings of a job that another one measured too, with the
//! server there, slow, and gone, against one that never joined, in turns. Then how late a reading of one
//! station is seen at another, and a value of its gauge.
//!
//! `shop_measured [READINGS [CHANGES]]`, 300 and 40 where nothing is said.

#![allow(clippy::print_stdout)] // It says what it found.

#[cfg(target_os = "linux")]
mod measured {
    use std::time::{Duration, Instant};

    use benchhand_testbed::postgres::PostgresServer;
    use benchhand_tests::program::Daemon;
    use benchhand_tests::shop::Shop;
    use benchhand_tests::signals::Hand;
    use benchhand_tests::true_time::TrueTimeGauge;
    use serde_json::{Value, json};

    const ROLES: [&str; 3] = ["owner", "flow", "pour"];
    /// What was not seen by then counts as not seen.
    const MOST: Duration = Duration::from_secs(10);
    const LOOK_AGAIN: Duration = Duration::from_millis(5);
    /// What the dial shows where it is zeroed, mm.
    const ZERO_MM: f64 = 5.0;

    /// How long until `seen` holds; `None` where it never does.
    fn until(seen: impl Fn() -> bool) -> Option<Duration> {
        let began = Instant::now();
        while began.elapsed() < MOST {
            if seen() {
                return Some(began.elapsed());
            }
            std::thread::sleep(LOOK_AGAIN);
        }
        None
    }

    fn told(what: &str, times: Vec<Option<Duration>>) {
        let all = times.len();
        let mut seen: Vec<Duration> = times.into_iter().flatten().collect();
        seen.sort();
        let (Some(last), missing) = (seen.last(), all - seen.len()) else {
            println!("{what}: none of {all} was seen within {MOST:?}");
            return;
        };
        let middle = seen[seen.len() / 2];
        let p95 = seen[seen.len() * 95 / 100];
        println!(
            "{what}: {all} times, {middle:.1?} in the middle, {p95:.1?} at the 95th percentile, \
             {last:.1?} at most; {missing} not seen within {MOST:?}"
        );
    }

    fn readings(at: &Daemon) -> usize {
        let answer = at.api.get("jobs/show?job=v8");
        match answer.status {
            200 => answer.json()["readings"].as_array().map_or(0, Vec::len),
            _ => 0,
        }
    }

    /// What another station's gauge shows, mm, as this one sees it.
    fn shown(at: &Daemon) -> Option<f64> {
        let shop = at.api.get("shop").good();
        let stations = shop["stations"].as_array()?;
        let mut routes = stations
            .iter()
            .filter_map(|one| one["routes"].as_array()?.first());
        let shown = routes.next()?["shown"].as_str()?;
        shown.strip_suffix(" mm")?.parse().ok()
    }

    fn live(from: &Daemon, to: &Daemon, changes: usize) {
        let dial = TrueTimeGauge::plug_in();
        let mut set = vec!["gauge", "set", "dial", "--profile", "ascii-length"];
        set.extend(["--port", dial.path()]);
        from.program.json(&set);
        from.api.wait_for_port("dial");
        dial.play(&Hand::at_dial(1).from(ZERO_MM).rest(4.0).stream());
        from.program.json(&["gauge", "zero", "dial", "--job", "v8"]);
        // The route does not end before the changes do.
        let rounds = (changes + 20).to_string();
        let args = ["measure", "v8", "gasket", "--rounds", &rounds, "--json"];
        let mut running = from.program.start(&args);
        running.wait("the route runs", |event| {
            event["progress"]["running"] == true
        });
        let times = (0..changes).map(|n| {
            let wanted = 0.1 * (n + 1) as f64;
            let hand = Hand::at_dial(n as u64 + 2).from(ZERO_MM + wanted);
            dial.play(&hand.rest(0.2).stream());
            let close = |mm: f64| (mm - wanted).abs() < 0.02;
            let seen = until(|| shown(to).is_some_and(close));
            if seen.is_none() {
                let state: Value = to.api.get("shop").good();
                println!("{wanted:.1} mm was not seen: {}", state["stations"]);
                println!("there: {}", from.api.get("state").good()["gauges"]);
            }
            seen
        });
        told("a value of a gauge elsewhere", times.collect());
    }

    /// A server with a shop's database and roles.
    fn server() -> PostgresServer {
        let server = PostgresServer::start_durable();
        server.sql(
            "postgres",
            "create role owner login createrole; create role shop_station; create role shop_reader; \
             create role flow login in role shop_station; create role pour login in role shop_station",
        );
        server.sql("postgres", "create database shop owner owner");
        server
    }

    fn join(daemon: &Daemon, server: &PostgresServer, role: &str) {
        let body = json!({"url": server.url(role, "shop"), "name": role});
        let joined = daemon.api.post("shop/join", &format!("join-{role}"), &body);
        joined.expect("it answers").good();
    }

    fn enter(daemon: &Daemon, n: usize) -> Duration {
        let spot = format!("chamber/{}", n % 8 + 1);
        let value = format!("{:.4} cc", 64.0 + n as f64 * 1e-4);
        let body = json!({"job": "v8", "spot": spot, "value": value, "sure": true});
        let began = Instant::now();
        let kept = daemon
            .api
            .post("readings/enter", &format!("entry-{n}"), &body);
        let took = began.elapsed();
        kept.expect("it answers").good();
        took
    }

    /// A station in whose job the readings of another one lie, and the server of both.
    fn beside_another(kept: usize) -> (PostgresServer, Shop, Daemon) {
        let server = server();
        let (other, own) = (Shop::with_job(), Shop::new());
        let there = other.program.serve(&[]);
        join(&there, &server, "owner");
        for n in 0..kept {
            enter(&there, n);
        }
        let here = own.program.serve(&[]);
        join(&here, &server, "flow");
        until(|| readings(&here) == kept).expect("taken in");
        there.stop();
        (server, own, here)
    }

    /// How fast readings are acknowledged, against a station that never joined.
    fn acknowledged(kept: usize) {
        let alone = Shop::with_job();
        let never = alone.program.serve(&[]);
        // What is compared are jobs of one size.
        for n in 0..kept {
            enter(&never, n);
        }
        let (_up, _shop_up, up) = beside_another(kept);
        let (slow_server, _shop_slow, slow) = beside_another(kept);
        let (mut gone_server, _shop_gone, gone) = beside_another(kept);
        // Every batch of lines takes half a second there.
        slow_server.sql(
            "shop",
            "create function public.slowly() returns trigger language plpgsql as \
             $$ begin perform pg_sleep(0.5); return null; end $$; \
             create trigger slowly after insert on benchhand.lines execute function public.slowly()",
        );
        gone_server.kill();
        let stations = [&never, &up, &slow, &gone];
        let mut times = [const { Vec::new() }; 4];
        for n in 0..kept {
            // Each follows on each of the others equally often.
            for turn in 0..stations.len() {
                let at = match n % 2 {
                    0 => (turn + n / 2) % stations.len(),
                    _ => stations.len() - 1 - (turn + n / 2) % stations.len(),
                };
                times[at].push(enter(stations[at], kept + n));
            }
        }
        let waiting = |daemon: &Daemon| daemon.api.get("shop").good()["waiting"].clone();
        let waits = [waiting(&up), waiting(&slow), waiting(&gone)];
        let [never, up, slow, gone] = times.map(|mut times| {
            times.sort();
            times[times.len() / 2].as_secs_f64()
        });
        println!(
            "a typed reading over HTTP, never joined: {:.0} us",
            1e6 * never
        );
        for ((what, time), waits) in [("there", up), ("slow", slow), ("gone", gone)]
            .into_iter()
            .zip(waits)
        {
            println!(
                "another station measured as many, the server {what}: {:.3} of its rate ({waits} \
                 lines not sent at the end)",
                never / time
            );
        }
    }

    pub fn all(kept: usize, changes: usize) {
        acknowledged(kept);
        let server = server();
        let shops = [Shop::with_job(), Shop::new(), Shop::new()];
        let daemons = shops.each_ref().map(|shop| shop.program.serve(&[]));
        for (daemon, role) in daemons.iter().zip(ROLES) {
            join(daemon, &server, role);
        }
        let [first, _, third] = &daemons;
        until(|| third.api.get("jobs/show?job=v8").status == 200).expect("known");
        let times = (0..kept).map(|n| {
            enter(first, n);
            until(|| readings(third) > n)
        });
        told("a reading kept elsewhere", times.collect());
        live(first, third, changes);
    }
}

fn main() {
    #[cfg(target_os = "linux")]
    {
        let said = |nth, otherwise| {
            let said = std::env::args().nth(nth);
            said.map_or(otherwise, |said| said.parse().expect("a number"))
        };
        measured::all(said(1, 300), said(2, 40));
    }
}
