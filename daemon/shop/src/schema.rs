//! The tables of the shop's record: numbered migrations, each of which runs once.

use tokio_postgres::Client;

use crate::address::ShopAddress;
use crate::fault::ShopFault;
use crate::version::{NEEDED, SCHEMA};

/// The migrations, in order: the version that each makes, its text, and the oldest version that a
/// program must know to use what it leaves behind. Numbers may be left out.
const MIGRATIONS: [(i32, &str, i32); 8] = [
    (1, include_str!("../migrations/001_lines.sql"), 1),
    (2, include_str!("../migrations/002_rights.sql"), 1),
    (3, include_str!("../migrations/003_views.sql"), 1),
    (4, include_str!("../migrations/004_quicker_views.sql"), 1),
    (20, include_str!("../migrations/020_live.sql"), 1),
    (21, include_str!("../migrations/021_pieces.sql"), 1),
    (22, include_str!("../migrations/022_cuts_taken_back.sql"), 1),
    (23, include_str!("../migrations/023_recomputing.sql"), 1),
];

/// Any number, the same for all programs that make tables in one database.
const LOCK: i64 = 0x62_656e_6368;

/// What the role may do beyond what a station needs.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct ShopRights {
    /// It may change or delete rows: it owns the tables, or is the server's administrator.
    pub may_change: bool,
}

/// The tables as a connection finds or makes them.
#[derive(Debug, Clone, Copy)]
pub(crate) struct ShopTables {
    /// Their version; an older one than this program's where the role may not change them and they
    /// can be used all the same.
    pub version: i32,
    /// What the role may do.
    pub rights: ShopRights,
}

/// The tables' version and the oldest version that a program must know.
async fn found(client: &Client) -> Result<Option<(i32, i32)>, tokio_postgres::Error> {
    let there = "select to_regclass('benchhand.schema_version') is not null";
    if !client.query_one(there, &[]).await?.get::<_, bool>(0) {
        return Ok(None);
    }
    let newest = "select version, usable_from from benchhand.schema_version \
        order by version desc limit 1";
    let row = client.query_opt(newest, &[]).await?;
    Ok(row.map(|row| (row.get(0), row.get(1))))
}

/// Makes the tables, or brings them up to date, where this role may; says what stands in the way
/// where it may not.
pub(crate) async fn prepare(client: &Client, at: &ShopAddress) -> Result<ShopTables, ShopFault> {
    let fault = |error: tokio_postgres::Error| ShopFault::of(&error, at);
    let version = found(client).await.map_err(fault)?;
    let version = match version {
        Some((SCHEMA, _)) => SCHEMA,
        Some((newer, usable_from)) if newer > SCHEMA => {
            if usable_from > SCHEMA {
                let found = newer;
                return Err(ShopFault::NewerSchema { found, usable_from });
            }
            newer
        }
        older => {
            let rights = "select case when to_regclass('benchhand.schema_version') is null \
                then has_database_privilege(current_database(), 'CREATE') \
                else pg_has_role((select relowner from pg_class \
                    where oid = to_regclass('benchhand.schema_version')), 'MEMBER') end";
            let may = client.query_one(rights, &[]).await.map_err(fault)?;
            match (may.get::<_, bool>(0), older) {
                (true, _) => {
                    migrate(client).await.map_err(not_made)?;
                    SCHEMA
                }
                (false, Some((version, _))) if version >= NEEDED => version,
                (false, Some((version, _))) => return Err(ShopFault::OlderSchema(version)),
                (false, None) => return Err(ShopFault::NoSchema(at.database().to_owned())),
            }
        }
    };
    let may_change = "select has_table_privilege('benchhand.lines', 'UPDATE') \
        or has_table_privilege('benchhand.lines', 'DELETE')";
    let row = client.query_one(may_change, &[]).await.map_err(fault)?;
    let may_change = row.get(0);
    let rights = ShopRights { may_change };
    Ok(ShopTables { version, rights })
}

fn not_made(error: tokio_postgres::Error) -> ShopFault {
    let said = error.as_db_error().map(|said| said.message().to_owned());
    let mut words = said.unwrap_or_else(|| error.to_string());
    if words.contains("create role") {
        words += "; let the role that owns the database create roles (ALTER ROLE … CREATEROLE)";
    }
    ShopFault::NotMade(words)
}

/// Runs the migrations that have not run yet, all or none. Two stations that come at once wait for
/// each other.
async fn migrate(client: &Client) -> Result<(), tokio_postgres::Error> {
    client.batch_execute("begin").await?;
    let done = run(client).await;
    let end = if done.is_ok() { "commit" } else { "rollback" };
    client.batch_execute(end).await?;
    done
}

async fn run(client: &Client) -> Result<(), tokio_postgres::Error> {
    let lock = "select pg_advisory_xact_lock($1)";
    client.query_one(lock, &[&LOCK]).await?;
    client
        .batch_execute(
            "create schema if not exists benchhand; \
             create table if not exists benchhand.schema_version ( \
                version integer primary key, usable_from integer not null, \
                made_at timestamptz not null default clock_timestamp())",
        )
        .await?;
    let done = "select version from benchhand.schema_version";
    let done = client.query(done, &[]).await?;
    let done: Vec<i32> = done.iter().map(|row| row.get(0)).collect();
    for (version, text, usable_from) in MIGRATIONS {
        if done.contains(&version) {
            continue;
        }
        client.batch_execute(text).await?;
        let mark = "insert into benchhand.schema_version (version, usable_from) values ($1, $2)";
        client.execute(mark, &[&version, &usable_from]).await?;
    }
    // What comes with a migration can be read by both groups too.
    client.batch_execute(GRANTS).await
}

const GRANTS: &str = "do $$ begin execute format( \
    'grant select on all tables in schema benchhand to %I, %I', \
    current_database() || '_station', current_database() || '_reader'); end $$";
