//! Every built-in profile loads and passes its captures.

use super::*;

#[test]
fn every_built_in_profile_loads_and_gives_its_captures() {
    let mut wrong = Vec::new();
    for (file, text) in BUILT_IN {
        let profile = Profile::parse(text, file).unwrap_or_else(|error| panic!("{error}"));
        assert_eq!(format!("{}.toml", profile.name()), *file);
        match profile.check_captures() {
            Ok(checked) => assert!(checked > 0, "{file} carries no capture"),
            Err(failures) => wrong.extend(failures.iter().map(|f| format!("{file}: {f}"))),
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert_eq!(ProfileRegistry::builtin().names().count(), BUILT_IN.len());
}
