//! Who may read the data folder: a builder's figures are nobody else's.

use std::path::{Path, PathBuf};

use benchhand_wire::{MachineFinding, MachinePart, MachineState};

use super::{MachineUser, finding, fine};

/// What is to be said of the data folder, seen by `user`, and of `inside`: the folders in it that
/// are ours. They matter where the data folder itself is shared.
pub(crate) fn kept_to_owner(
    data: &Path,
    inside: &[PathBuf],
    user: Option<&MachineUser>,
) -> MachineFinding {
    let at = data.display();
    let Some(user) = user else {
        return finding(
            MachinePart::Folders,
            MachineState::Unknown,
            format!("who may read {at} cannot be seen here"),
            "look at it by the system's own means: it should be yours alone",
        );
    };
    if !data.exists() {
        return fine(
            MachinePart::Folders,
            format!("{at} is not there yet; it is made with its first job, for you alone"),
        );
    }
    let data_is_ours_alone = match seen(data, user) {
        Ok(FolderSeen::OwnersAlone) => true,
        Ok(FolderSeen::OpenToOthers) => false,
        Ok(FolderSeen::AnothersOwn) => return another_s(data, user),
        Err(error) => return unreadable(data, &error),
    };
    for folder in inside.iter().filter(|folder| folder.is_dir()) {
        match seen(folder, user) {
            Ok(FolderSeen::AnothersOwn) => return another_s(folder, user),
            Ok(FolderSeen::OpenToOthers) if !data_is_ours_alone => return open(folder),
            Ok(_) => {}
            Err(error) => return unreadable(folder, &error),
        }
    }
    match data_is_ours_alone {
        true => fine(MachinePart::Folders, format!("{at} is yours alone")),
        // What is in it is closed. Others can see its names.
        false => finding(
            MachinePart::Folders,
            MachineState::Advice,
            format!("others may look into {at}, though not into the jobs"),
            closing(data),
        ),
    }
}

/// How a folder stands to the user who looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum FolderSeen {
    OwnersAlone,
    OpenToOthers,
    AnothersOwn,
}

fn seen(folder: &Path, user: &MachineUser) -> std::io::Result<FolderSeen> {
    let (owner, mode) = owner_and_mode(folder)?;
    // A folder of the administrator's that is shared on purpose has the sticky bit.
    let shared = mode & 0o1000 != 0;
    Ok(match (owner == user.id, mode & 0o077) {
        (false, _) if !shared => FolderSeen::AnothersOwn,
        (_, 0) => FolderSeen::OwnersAlone,
        _ => FolderSeen::OpenToOthers,
    })
}

/// The number of the user to whom a folder belongs, and its rights.
#[cfg(unix)]
fn owner_and_mode(folder: &Path) -> std::io::Result<(u32, u32)> {
    use std::os::unix::fs::MetadataExt as _;
    let found = std::fs::metadata(folder)?;
    Ok((found.uid(), found.mode()))
}

#[cfg(not(unix))]
fn owner_and_mode(_: &Path) -> std::io::Result<(u32, u32)> {
    Err(std::io::Error::other("this system has no such rights"))
}

fn closing(folder: &Path) -> String {
    format!("close it: chmod go-rwx {:?}", folder.display().to_string())
}

fn open(folder: &Path) -> MachineFinding {
    finding(
        MachinePart::Folders,
        MachineState::Wrong,
        format!("others may look into {}", folder.display()),
        closing(folder),
    )
}

fn another_s(folder: &Path, user: &MachineUser) -> MachineFinding {
    finding(
        MachinePart::Folders,
        MachineState::Wrong,
        format!("{} belongs to another user", folder.display()),
        format!(
            "work as that user, take a folder of your own (--data), or make it yours: sudo chown \
             -R {} {:?}",
            user.id,
            folder.display().to_string()
        ),
    )
}

fn unreadable(folder: &Path, error: &std::io::Error) -> MachineFinding {
    finding(
        MachinePart::Folders,
        MachineState::Wrong,
        format!("{} cannot be looked at: {error}", folder.display()),
        "work as the user to whom it belongs, or with a folder of your own (--data)",
    )
}

#[cfg(all(test, unix))]
mod tests {
    use std::os::unix::fs::{MetadataExt as _, PermissionsExt as _};

    use super::*;

    fn set(folder: &Path, mode: u32) {
        std::fs::set_permissions(folder, std::fs::Permissions::from_mode(mode)).expect("set");
    }

    #[test]
    fn a_folder_that_others_may_read_is_told_with_how_to_close_it() {
        let data = tempfile::tempdir().expect("a folder");
        let data = data.path();
        let jobs = data.join("jobs");
        std::fs::create_dir(&jobs).expect("made");
        let user = MachineUser {
            id: std::fs::metadata(data).expect("there").uid(),
        };
        let look = || kept_to_owner(data, std::slice::from_ref(&jobs), Some(&user));
        set(data, 0o700);
        set(&jobs, 0o755);
        assert_eq!(look().state, MachineState::Fine, "nobody gets so far");
        set(data, 0o755);
        let found = look();
        assert_eq!(found.state, MachineState::Wrong);
        assert!(found.todo.contains("chmod go-rwx"), "{found:?}");
        assert!(found.todo.contains("jobs"), "{found:?}");
        set(&jobs, 0o700);
        assert_eq!(look().state, MachineState::Advice);
    }

    #[test]
    fn another_user_s_folder_is_told() {
        let data = tempfile::tempdir().expect("a folder");
        let owner = std::fs::metadata(data.path()).expect("there").uid();
        let other = MachineUser { id: owner + 1 };
        let found = kept_to_owner(data.path(), &[], Some(&other));
        assert_eq!(found.state, MachineState::Wrong);
        assert!(found.found.contains("another user"), "{found:?}");
    }

    #[test]
    fn a_folder_that_is_not_there_yet_is_fine() {
        let data = tempfile::tempdir().expect("a folder");
        let user = MachineUser::of_this_process().expect("a user");
        let found = kept_to_owner(&data.path().join("none"), &[], Some(&user));
        assert_eq!(found.state, MachineState::Fine);
    }

    #[test]
    fn without_users_it_is_said_that_nothing_was_seen() {
        let found = kept_to_owner(Path::new("/"), &[], None);
        assert_eq!(found.state, MachineState::Unknown);
    }
}
