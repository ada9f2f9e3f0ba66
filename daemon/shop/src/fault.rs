//! Why the shop's record cannot be used now, in words that say what to do.

use tokio_postgres::error::SqlState;

use crate::address::ShopAddress;
use crate::record::RecordFault;
use crate::version::{NEEDED, SCHEMA};

/// Why the shop's record cannot be used now. Readings are kept here all the same.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ShopFault {
    /// Nobody answers there, or the line broke.
    #[error(
        "the shop's server at {host} does not answer: {cause}; look whether it runs and the network reaches it"
    )]
    Unreachable {
        /// The host or the folder of the socket.
        host: String,
        /// What the system said.
        cause: String,
    },
    /// The connection ended.
    #[error("the connection to the shop's server ended: {0}")]
    Ended(String),
    /// Something took longer than it may.
    #[error("the shop's server took longer than {seconds} s to {what}")]
    TookTooLong {
        /// What was waited for.
        what: &'static str,
        /// How long, in seconds.
        seconds: u64,
    },
    /// TLS could not be had, or the server's certificate is not believed.
    #[error(
        "no safe connection to {host}: {cause}; the server needs `ssl = on` and a certificate for the name {host} that this machine believes, or state its certificate with --certificate FILE"
    )]
    Tls {
        /// The host.
        host: String,
        /// What was found.
        cause: String,
    },
    /// A file of certificates cannot be used.
    #[error("the file of certificates {file} cannot be used: {cause}")]
    Certificate {
        /// The file.
        file: String,
        /// What was found.
        cause: String,
    },
    /// The server does not let the role in.
    #[error(
        "the server does not let {role} in: {cause}; the password stands in ~/.pgpass (HOST:PORT:DATABASE:ROLE:PASSWORD, chmod 600) or PGPASSWORD of whoever runs the daemon"
    )]
    NotLetIn {
        /// The role.
        role: String,
        /// What the server said.
        cause: String,
    },
    /// There is no such database.
    #[error("the server has no database {0}; make it with `createdb`")]
    NoDatabase(String),
    /// The role may not do what is needed.
    #[error(
        "the role {role} lacks a right: {cause}; it must be a member of {group}: GRANT {group} TO {role}"
    )]
    Forbidden {
        /// The role.
        role: String,
        /// What the server said.
        cause: String,
        /// The roles' group of this database.
        group: String,
    },
    /// The schema is not there, and this role may not make it.
    #[error(
        "the database {0} holds no shop yet; the role that owns it joins first and makes the tables"
    )]
    NoSchema(String),
    /// The schema could not be made or brought up to date.
    #[error("the shop's tables could not be made: {0}")]
    NotMade(String),
    /// The schema is older than this program needs, and this role may not change it.
    #[error(
        "the shop's tables have version {0} and this program needs {NEEDED}; the role that owns the database joins once and brings them up to date"
    )]
    OlderSchema(i32),
    /// The schema is newer than this program understands.
    #[error(
        "the shop's tables have version {found} and can be used by programs that know version {usable_from}; this program knows {SCHEMA}: use the newer program"
    )]
    NewerSchema {
        /// The version that was found.
        found: i32,
        /// The version that a program must know at least.
        usable_from: i32,
    },
    /// The station's name is another role's.
    #[error(
        "this station's number was registered by the role {0}; use that role, or let the role that owns the database give the station to yours: benchhand shop prepare postgresql://OWNER@HOST/DATABASE --give-to ROLE"
    )]
    OtherRole(String),
    /// The role does not own the tables.
    #[error(
        "the role {0} does not own the shop's tables and may not do this; use the role that owns the database"
    )]
    NotTheOwner(String),
    /// A station cannot be given to a role.
    #[error(
        "this station cannot be given to {role}: it is registered by nobody, or {role} is no role of this server that is a member of {group}: CREATE ROLE {role} LOGIN PASSWORD '…' IN ROLE {group}"
    )]
    NotGiven {
        /// The role.
        role: String,
        /// The stations' group of this database.
        group: String,
    },
    /// The server refused a statement.
    #[error("the shop's server refused: {0}")]
    Server(String),
    /// The station's own record gave or took nothing.
    #[error(transparent)]
    Record(#[from] RecordFault),
}

impl ShopFault {
    /// What an error of the client means at that address.
    pub(crate) fn of(error: &tokio_postgres::Error, at: &ShopAddress) -> Self {
        let Some(said) = error.as_db_error() else {
            return Self::without_an_answer(error, at);
        };
        let cause = said.message().to_owned();
        let code = said.code();
        let not_let_in = [
            SqlState::INVALID_PASSWORD,
            SqlState::INVALID_AUTHORIZATION_SPECIFICATION,
        ];
        if not_let_in.contains(code) {
            let role = at.role().to_owned();
            return Self::NotLetIn { role, cause };
        }
        if *code == SqlState::INVALID_CATALOG_NAME {
            return Self::NoDatabase(at.database().to_owned());
        }
        if *code == SqlState::INSUFFICIENT_PRIVILEGE {
            return Self::Forbidden {
                role: at.role().to_owned(),
                cause,
                group: format!("{}_station", at.database()),
            };
        }
        // The server goes down, or somebody ended this connection.
        if code.code().starts_with("57P") || code.code().starts_with("08") {
            return Self::Ended(cause);
        }
        Self::Server(format!("{cause} ({})", code.code()))
    }

    /// The server said nothing itself.
    fn without_an_answer(error: &tokio_postgres::Error, at: &ShopAddress) -> Self {
        let words = error.to_string();
        let cause = causes(error).unwrap_or_else(|| words.clone());
        let host = at.host();
        if words.contains("TLS") {
            return Self::Tls { host, cause };
        }
        if words.contains("authentication") || cause.contains("password") {
            let role = at.role().to_owned();
            return Self::NotLetIn { role, cause };
        }
        if words.contains("connecting") || words.contains("configuration") {
            return Self::Unreachable { host, cause };
        }
        Self::Ended(cause)
    }
}

/// The innermost reason of an error, if it names one.
fn causes(error: &tokio_postgres::Error) -> Option<String> {
    let mut next = std::error::Error::source(error)?;
    while let Some(deeper) = next.source() {
        next = deeper;
    }
    Some(next.to_string())
}
