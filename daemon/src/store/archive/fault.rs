//! Why an archive of a job was not made or not taken.

/// The archive was not made, or nothing of it was taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ArchiveFault {
    /// It is something else.
    #[error("the file is no archive of a job: {0}")]
    Strange(String),
    /// A newer program made it.
    #[error(
        "the archive has version {found} of the format and this program reads up to {most}; use the newer program"
    )]
    Newer {
        /// The version of the archive.
        found: u64,
        /// The newest that is read.
        most: u64,
    },
    /// An entry that no archive of a job has.
    #[error("the archive holds {name:?}: {why}; nothing of it was taken")]
    Entry {
        /// The entry's name, as it stands in the archive.
        name: String,
        /// What is wrong with it.
        why: String,
    },
    /// Bytes that are not those that were packed, or are missing.
    #[error("the archive is damaged: {0}; nothing of it was taken")]
    Damaged(String),
    /// The job would make an archive that no request carries.
    #[error("the archive would have {bytes} bytes and more than {most} cannot be carried")]
    TooLarge {
        /// How large it would be.
        bytes: u64,
        /// The largest that there can be.
        most: u64,
    },
}

impl ArchiveFault {
    /// An entry that is refused.
    pub(crate) fn entry(name: &str, why: &str) -> Self {
        ArchiveFault::Entry {
            name: name.to_owned(),
            why: why.to_owned(),
        }
    }
}
