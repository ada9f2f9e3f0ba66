//! Names that are safe as the names of files and folders on every platform.

/// The longest a name may be.
const LONGEST: usize = 64;

/// Names that some platform reserves for its devices.
const RESERVED: &[&str] = &[
    "con", "prn", "aux", "nul", "com1", "com2", "com3", "com4", "com5", "com6", "com7", "com8",
    "com9", "lpt1", "lpt2", "lpt3", "lpt4", "lpt5", "lpt6", "lpt7", "lpt8", "lpt9",
];

/// A name that is not allowed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "{name:?} cannot be the name of a {of}: {why}; use up to {LONGEST} of a-z, A-Z, 0-9, '-', \
     '_' and '.', beginning with a letter or digit"
)]
pub struct BadName {
    /// What the name is for.
    pub of: &'static str,
    /// The name.
    pub name: String,
    /// What is wrong with it.
    pub why: String,
}

/// Whether `name` can be the name of a `of` (a job, a gauge).
///
/// # Errors
/// Says what is wrong and what is allowed.
pub fn check_name(of: &'static str, name: &str) -> Result<(), BadName> {
    match fault(name) {
        None => Ok(()),
        Some(why) => Err(BadName {
            of,
            name: name.to_owned(),
            why,
        }),
    }
}

fn fault(name: &str) -> Option<String> {
    let allowed = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.');
    if name.is_empty() {
        return Some("it is empty".to_owned());
    }
    if let Some(strange) = name.chars().find(|c| !allowed(*c)) {
        return Some(format!("it holds {strange:?}"));
    }
    if name.len() > LONGEST {
        return Some(format!("it has {} characters", name.len()));
    }
    if !name.starts_with(|c: char| c.is_ascii_alphanumeric()) {
        return Some("it begins with a sign".to_owned());
    }
    if name.ends_with('.') {
        return Some("it ends with a dot".to_owned());
    }
    let stem = name.split('.').next().unwrap_or(name).to_ascii_lowercase();
    RESERVED
        .contains(&&*stem)
        .then(|| "some systems keep that name for a device".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plain_names_pass_and_the_others_say_why() {
        for good in [
            "v8-2026",
            "Smallblock_2",
            "a",
            "4.030-bore",
            &"x".repeat(64),
        ] {
            assert_eq!(check_name("job", good), Ok(()), "{good}");
        }
        for (bad, why) in [
            ("", "it is empty"),
            ("a/b", "it holds '/'"),
            ("..", "it begins with a sign"),
            ("naïve", "it holds 'ï'"),
            ("a b", "it holds ' '"),
            (".new-x", "it begins with a sign"),
            ("x.", "it ends with a dot"),
            ("NUL.toml", "some systems keep that name for a device"),
            (&"x".repeat(65), "it has 65 characters"),
        ] {
            assert_eq!(check_name("job", bad).unwrap_err().why, why, "{bad}");
        }
    }
}
