//! The password of the shop's role: from the usual variable or file, never from a setting.

use std::path::{Path, PathBuf};

/// Where a password is looked up, each time that it is needed.
#[derive(Clone, Default)]
pub struct PasswordSource {
    /// What `PGPASSWORD` held.
    variable: Option<String>,
    /// The file of passwords.
    file: Option<PathBuf>,
}

// A password is never shown, not even to whoever looks for a fault.
impl std::fmt::Debug for PasswordSource {
    fn fmt(&self, to: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        to.debug_struct("PasswordSource")
            .field("variable", &self.variable.is_some())
            .field("file", &self.file)
            .finish()
    }
}

impl PasswordSource {
    /// `PGPASSWORD`, else the file that `PGPASSFILE` names, else `.pgpass` in the home folder
    /// (`postgresql\pgpass.conf` below `APPDATA` on Windows).
    pub fn of_environment() -> Self {
        let named = |name: &str| std::env::var_os(name).filter(|value| !value.is_empty());
        let usual = if cfg!(windows) {
            named("APPDATA").map(|base| Path::new(&base).join("postgresql").join("pgpass.conf"))
        } else {
            named("HOME").map(|base| Path::new(&base).join(".pgpass"))
        };
        Self {
            variable: named("PGPASSWORD").and_then(|value| value.into_string().ok()),
            file: named("PGPASSFILE").map(PathBuf::from).or(usual),
        }
    }

    /// Only that file.
    pub fn of_file(file: &Path) -> Self {
        Self {
            variable: None,
            file: Some(file.to_owned()),
        }
    }

    /// The password for one of these hosts (several names of one server), if there is one.
    pub(crate) fn find(&self, hosts: &[&str], port: u16, base: &str, role: &str) -> Option<String> {
        if let Some(password) = &self.variable {
            return Some(password.clone());
        }
        let file = self.file.as_deref().filter(|file| is_private(file))?;
        let text = std::fs::read_to_string(file).ok()?;
        let port = port.to_string();
        text.lines().find_map(|line| {
            let [host, at, of, who, password] = fields(line)?;
            let fits = |field: &str, value: &str| field == "*" || field == value;
            let here = hosts.iter().any(|name| fits(&host, name));
            (here && fits(&at, &port) && fits(&of, base) && fits(&who, role)).then_some(password)
        })
    }
}

/// Whether nobody else may read a file. Of others the file is passed over, as every program does
/// that reads it.
#[cfg(unix)]
fn is_private(file: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    match std::fs::metadata(file) {
        Ok(found) if found.mode() & 0o077 != 0 => {
            let file = file.display();
            tracing::warn!(%file, "others may read the file of passwords; it is not used (chmod 600)");
            false
        }
        found => found.is_ok(),
    }
}

#[cfg(not(unix))]
fn is_private(file: &Path) -> bool {
    file.is_file()
}

/// The five fields of a line: host, port, database, role, password. A backslash stands before a
/// colon or a backslash that is meant.
fn fields(line: &str) -> Option<[String; 5]> {
    if line.starts_with('#') {
        return None;
    }
    let mut found: [String; 5] = Default::default();
    let mut at = 0;
    let mut letters = line.chars();
    while let Some(letter) = letters.next() {
        match letter {
            '\\' => found[at].extend(letters.next()),
            ':' if at < 4 => at += 1,
            other => found[at].push(other),
        }
    }
    (at == 4).then_some(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn source(text: &str) -> (tempfile::TempDir, PasswordSource) {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("passwords");
        std::fs::write(&file, text).unwrap();
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            std::fs::set_permissions(&file, PermissionsExt::from_mode(0o600)).unwrap();
        }
        (folder, PasswordSource::of_file(&file))
    }

    #[test]
    fn the_first_line_that_fits_gives_the_password() {
        let (_folder, source) = source(
            "# remark\nhalf a line\nelse:5432:shop:deck:no\n/run/pg:*:shop:deck:a\\:b\\\\c:d\n*:*:*:*:last\n",
        );
        let find = |hosts: &[&str], role| source.find(hosts, 5432, "shop", role);
        assert_eq!(find(&["/run/pg", "localhost"], "deck").unwrap(), "a:b\\c:d");
        assert_eq!(find(&["server"], "deck").unwrap(), "last");
        assert_eq!(find(&["else"], "deck").unwrap(), "no");
    }

    #[test]
    fn no_file_and_no_line_give_none_and_the_variable_goes_first() {
        let (_folder, of_file) = source("else:5432:shop:deck:no\n");
        assert_eq!(of_file.find(&["server"], 5432, "shop", "deck"), None);
        let nowhere = PasswordSource::of_file(Path::new("/nowhere/at/all"));
        assert_eq!(nowhere.find(&["server"], 5432, "shop", "deck"), None);
        let both = PasswordSource {
            variable: Some("secret".to_owned()),
            ..of_file
        };
        assert_eq!(
            both.find(&["else"], 5432, "shop", "deck").unwrap(),
            "secret"
        );
        assert!(!format!("{both:?}").contains("secret"));
    }

    #[cfg(unix)]
    #[test]
    fn a_file_that_others_may_read_is_passed_over() {
        use std::os::unix::fs::PermissionsExt;
        let (folder, source) = source("*:*:*:*:open\n");
        let file = folder.path().join("passwords");
        std::fs::set_permissions(file, PermissionsExt::from_mode(0o644)).unwrap();
        assert_eq!(source.find(&["server"], 5432, "shop", "deck"), None);
    }
}
