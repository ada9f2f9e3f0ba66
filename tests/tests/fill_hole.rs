//! What stands in the plate's fill hole: a stated volume is taken off, and none is exactly none.

use benchhand_tests::shop::{Shop, cylinder};
use serde_json::Value;

fn chamber(shop: &Shop) -> Value {
    let report = shop.program.json(&["report", "v8"]);
    cylinder(&report, 1)["chamber"].clone()
}

/// What is known of the chamber's standard uncertainty, cc.
fn known(chamber: &Value) -> f64 {
    let u = chamber["u"].as_f64().or(chamber["u_known"].as_f64());
    u.unwrap_or_else(|| panic!("{chamber}"))
}

#[test]
fn nothing_in_the_fill_hole_widens_no_chamber() {
    let unsaid = Shop::with_job();
    let said = Shop::with_job();
    said.chambers_are_set_up();
    for shop in [&unsaid, &said] {
        shop.program.json(&["enter", "v8", "chamber/1", "64.20 cc"]);
    }
    let (unsaid, said) = (chamber(&unsaid), chamber(&said));
    assert_eq!(said["value"], unsaid["value"]);
    assert!(
        (known(&said) - known(&unsaid)).abs() < 1e-9,
        "{said} beside {unsaid}"
    );
}

#[test]
fn a_volume_in_the_fill_hole_is_taken_off_with_its_rounding() {
    let shop = Shop::with_job();
    shop.program
        .json(&["condition", "v8", "fill-hole/volume", "0.3 cc"]);
    shop.program.json(&["enter", "v8", "chamber/1", "64.20 cc"]);
    let found = chamber(&shop);
    let value = found["value"].as_f64().expect("a value");
    assert!((value - 63.9).abs() < 1e-9, "{found}");
    // Half of the last digit, evenly: 0.1 cc/√12 (JCGM 100:2008, 4.3.7).
    assert!(known(&found) >= 0.1 / 12f64.sqrt(), "{found}");
}
