use super::*;

#[test]
fn every_built_in_profile_loads_and_gives_its_captures() {
    for (file, text) in BUILT_IN {
        let profile = Profile::parse(text, file).unwrap_or_else(|error| panic!("{error}"));
        assert_eq!(format!("{}.toml", profile.name()), *file);
        let checked = profile.check_captures().unwrap_or_else(|failures| {
            panic!(
                "{file}: {}",
                failures
                    .iter()
                    .map(ToString::to_string)
                    .collect::<Vec<_>>()
                    .join("\n")
            )
        });
        assert!(checked > 0, "{file} carries no capture");
    }
    assert_eq!(Registry::builtin().names().count(), BUILT_IN.len());
}
