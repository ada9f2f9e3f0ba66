//! A PostgreSQL server of a test's own: in a temporary folder, on a socket there, run by a user with
//! few rights, and gone with the test.
//!
//! Where no server is installed a test that needs one does not run: see [`is_here`].

use std::io::{BufRead, BufReader};
use std::os::unix::fs::{PermissionsExt, chown};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::{OnceLock, mpsc};

use tempfile::TempDir;

use crate::needed;

/// The number of a user who owns nothing; a server refuses to run as administrator.
const NOBODY: u32 = 65534;

/// The server's administrator in these tests.
const ADMIN: &str = "admin";

/// A server with its own data.
#[derive(Debug)]
pub struct PostgresServer {
    folder: TempDir,
    /// The TCP port, where it offers TLS.
    port: Option<u16>,
    tls: bool,
    /// Whether it keeps what it acknowledges through a failure of the power.
    durable: bool,
    running: Option<RunningServer>,
}

/// The server's process, which ends with the thread that began it.
#[derive(Debug)]
struct RunningServer {
    pid: rustix::process::Pid,
    ended: mpsc::Receiver<()>,
}

/// Where a program of PostgreSQL is: on the path, else the newest that Debian's packages installed.
fn found(name: &str) -> Option<PathBuf> {
    let mut packaged: Vec<PathBuf> = std::fs::read_dir("/usr/lib/postgresql")
        .into_iter()
        .flatten()
        .flatten()
        .map(|version| version.path().join("bin").join(name))
        .collect();
    packaged.sort();
    let packaged = || packaged.into_iter().rfind(|program| program.is_file());
    needed::on_path(name).or_else(packaged)
}

fn program(name: &str) -> PathBuf {
    found(name).unwrap_or_else(|| panic!("no {name}: apt-get install postgresql"))
}

/// Whether a server can be started here. A test that needs one asks this first, and ends where there
/// is none.
#[must_use]
pub fn is_here() -> bool {
    let all = found("initdb").is_some() && needed::on_path("openssl").is_some();
    needed::is_here(
        "a PostgreSQL server with openssl (packages postgresql, openssl)",
        all,
    )
}

/// A command that the administrator does not run as himself.
fn with_few_rights(name: &str) -> Command {
    let mut command = Command::new("setpriv");
    if rustix::process::getuid().is_root() {
        let (user, group) = (format!("--reuid={NOBODY}"), format!("--regid={NOBODY}"));
        command.args([user.as_str(), group.as_str(), "--clear-groups"]);
    }
    // Whatever ends the test ends the server too.
    command.args(["--pdeathsig", "QUIT"]).arg(program(name));
    command.env_remove("PGPASSWORD").env_remove("PGPASSFILE");
    command
}

/// The data of a server that has never run. Making it takes seconds, copying it moments: it is made once
/// for all tests of a build, and stays beside them.
fn template() -> &'static Path {
    static MADE: OnceLock<PathBuf> = OnceLock::new();
    MADE.get_or_init(|| {
        let test = std::env::current_exe().expect("a test has a path");
        let build = test
            .ancestors()
            .nth(2)
            .expect("tests run from target/PROFILE/deps");
        let version = Command::new(program("postgres")).arg("--version").output();
        let version = succeeded(&version.expect("it runs"), "postgres --version");
        let version = version
            .trim()
            .replace(|c: char| !c.is_ascii_alphanumeric(), "-");
        let made = build.join(format!("data-of-{version}"));
        if !made.exists() {
            make_template(&made);
        }
        made
    })
}

fn make_template(at: &Path) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    if rustix::process::getuid().is_root() {
        let nobody = Some(NOBODY);
        chown(folder.path(), nobody, nobody).expect("it can be given away");
    }
    let data = folder.path().join("data");
    let mut init = with_few_rights("initdb");
    init.args(["--encoding=UTF8", "--locale=C", "--no-sync", "-U", ADMIN])
        .args(["--auth", "trust", "-D"])
        .arg(&data)
        .current_dir(folder.path());
    succeeded(&init.output().expect("setpriv runs"), "initdb");
    // Another test may make the same: whichever is there first holds, and it is there whole.
    let here = at.with_extension(std::process::id().to_string());
    copy(&data, &here);
    if std::fs::rename(&here, at).is_err() {
        std::fs::remove_dir_all(&here).expect("it can be removed");
    }
    assert!(at.exists(), "{} is not there", at.display());
}

/// Copies a folder with its owners.
fn copy(from: &Path, to: &Path) {
    let mut copy = Command::new("cp");
    copy.args(["-a", "--sparse=always"]).arg(from).arg(to);
    succeeded(&copy.output().expect("cp runs"), "cp");
}

#[track_caller]
fn succeeded(output: &Output, what: &str) -> String {
    let (out, err) = (&output.stdout, &output.stderr);
    let out = String::from_utf8_lossy(out);
    let err = String::from_utf8_lossy(err);
    assert!(output.status.success(), "{what}: {out}{err}");
    out.into_owned()
}

impl Default for PostgresServer {
    fn default() -> Self {
        Self::start()
    }
}

impl PostgresServer {
    /// A server on a socket alone, which lets every role in without a password.
    #[must_use]
    pub fn start() -> Self {
        let mut server = Self::made(None);
        server.start_again();
        server
    }

    /// The same with every acknowledged commit on the disk, for measuring.
    #[must_use]
    pub fn start_durable() -> Self {
        let mut server = Self::made(None);
        server.durable = true;
        server.start_again();
        server
    }

    /// A server on 127.0.0.1 that asks for TLS and passwords, with a certificate for `localhost` that it
    /// signed itself ([`certificate`](Self::certificate)). Its socket lets every role in.
    #[must_use]
    pub fn start_with_tls() -> Self {
        let listener = std::net::TcpListener::bind("127.0.0.1:0").expect("a free port");
        let port = listener.local_addr().expect("it is bound").port();
        drop(listener);
        let mut server = Self::made(Some(port));
        let access = "local all all trust\nhostssl all all 127.0.0.1/32 scram-sha-256\n";
        std::fs::write(server.data().join("pg_hba.conf"), access).expect("it is written");
        server.make_certificate();
        server.start_again();
        server
    }

    /// From the next start on it offers no TLS, and lets in over TCP with a password alone.
    pub fn without_tls(&mut self) {
        self.tls = false;
        let access = "local all all trust\nhost all all 127.0.0.1/32 scram-sha-256\n";
        std::fs::write(self.data().join("pg_hba.conf"), access).expect("it is written");
    }

    fn made(port: Option<u16>) -> Self {
        let folder = tempfile::tempdir().expect("a temporary folder");
        if rustix::process::getuid().is_root() {
            let nobody = Some(NOBODY);
            chown(folder.path(), nobody, nobody).expect("it can be given away");
        }
        let server = Self {
            folder,
            port,
            tls: port.is_some(),
            durable: false,
            running: None,
        };
        copy(template(), &server.data());
        server
    }

    fn data(&self) -> PathBuf {
        self.folder.path().join("data")
    }

    /// The folder in which its socket lies.
    #[must_use]
    pub fn socket_folder(&self) -> &Path {
        self.folder.path()
    }

    /// The certificate that it shows, in PEM.
    #[must_use]
    pub fn certificate(&self) -> PathBuf {
        self.folder.path().join("server.crt")
    }

    fn make_certificate(&self) {
        let folder = self.folder.path();
        let key = folder.join("server.key");
        let mut openssl = Command::new("openssl");
        openssl
            .args(["req", "-x509", "-newkey", "ec", "-pkeyopt"])
            .args(["ec_paramgen_curve:prime256v1", "-nodes", "-days", "3650"])
            .args(["-subj", "/CN=localhost", "-addext"])
            .args(["subjectAltName=DNS:localhost", "-addext"])
            .args(["basicConstraints=critical,CA:FALSE", "-keyout"])
            .arg(&key)
            .arg("-out")
            .arg(self.certificate());
        let made = openssl.output().expect("openssl runs");
        succeeded(&made, "openssl");
        std::fs::set_permissions(&key, PermissionsExt::from_mode(0o600)).expect("it is mine");
        if rustix::process::getuid().is_root() {
            chown(&key, Some(NOBODY), Some(NOBODY)).expect("it can be given away");
        }
    }

    /// Starts it again after [`kill`](Self::kill), and waits until it lets somebody in.
    ///
    /// # Panics
    /// Where it ends before it does.
    pub fn start_again(&mut self) {
        assert!(self.running.is_none(), "it runs already");
        let mut command = with_few_rights("postgres");
        let folder = self.folder.path();
        command.arg("-D").arg(self.data()).arg("-k").arg(folder);
        let sync = if self.durable { "on" } else { "off" };
        let mut settings = vec![
            format!("fsync={sync}"),
            "shared_buffers=16MB".to_owned(),
            "max_connections=60".to_owned(),
        ];
        match self.port {
            Some(port) => settings.extend([
                "listen_addresses=127.0.0.1".to_owned(),
                format!("port={port}"),
            ]),
            None => settings.push("listen_addresses=".to_owned()),
        }
        if self.tls {
            settings.extend([
                "ssl=on".to_owned(),
                format!("ssl_cert_file={}", self.certificate().display()),
                format!("ssl_key_file={}", folder.join("server.key").display()),
            ]);
        }
        for setting in settings {
            command.args(["-c", &setting]);
        }
        command
            .current_dir(folder)
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::piped());
        let (ready, becomes_ready) = mpsc::channel();
        let (end, ended) = mpsc::channel();
        // The server ends with the thread that began it: this one, which waits for it.
        std::thread::spawn(move || {
            let mut child = command.spawn().expect("setpriv runs");
            let pid = rustix::process::Pid::from_child(&child);
            let said = BufReader::new(child.stderr.take().expect("it is piped"));
            let mut last = String::new();
            for line in said.lines().map_while(Result::ok) {
                if line.contains("ready to accept connections") {
                    drop(ready.send(Ok(pid)));
                }
                last = line;
            }
            drop(child.wait());
            drop(ready.send(Err(last)));
            // Nobody listens any more where the test failed meanwhile.
            let _ = end.send(());
        });
        match becomes_ready.recv().expect("the thread tells") {
            Ok(pid) => self.running = Some(RunningServer { pid, ended }),
            Err(last) => panic!("the server did not start: {last}"),
        }
    }

    /// Ends it at once, as a failure would: nobody is told, and what was not committed is lost.
    pub fn kill(&mut self) {
        let Some(running) = self.running.take() else {
            return;
        };
        let ended = rustix::process::kill_process(running.pid, rustix::process::Signal::QUIT);
        ended.expect("it runs");
        running.ended.recv().expect("its thread tells");
    }

    /// A URL of its socket.
    #[must_use]
    pub fn url(&self, role: &str, database: &str) -> String {
        let folder = self.folder.path().display().to_string().replace('/', "%2F");
        let port = self.port.unwrap_or(5432);
        format!("postgresql://{role}@{folder}:{port}/{database}")
    }

    /// A URL over TCP, where it offers TLS.
    #[must_use]
    pub fn tls_url(&self, role: &str, database: &str) -> String {
        let port = self.port.expect("it offers TLS");
        format!("postgresql://{role}@localhost:{port}/{database}")
    }

    /// What `psql` makes of statements of the administrator: rows without headings, columns parted by
    /// a bar.
    ///
    /// # Panics
    /// Where the server refuses.
    #[track_caller]
    pub fn sql(&self, database: &str, statements: &str) -> String {
        succeeded(&self.psql(ADMIN, database, statements), statements)
    }

    /// The same as a role, which may be refused: then what the server said.
    ///
    /// # Errors
    /// What the server said.
    pub fn sql_as(&self, role: &str, database: &str, statements: &str) -> Result<String, String> {
        let output = self.psql(role, database, statements);
        match output.status.success() {
            true => Ok(String::from_utf8_lossy(&output.stdout).into_owned()),
            false => Err(String::from_utf8_lossy(&output.stderr).into_owned()),
        }
    }

    fn psql(&self, role: &str, database: &str, statements: &str) -> Output {
        let mut psql = Command::new(program("psql"));
        psql.args(["-XAtq", "-v", "ON_ERROR_STOP=1", "-h"])
            .arg(self.folder.path())
            .args(["-p", &self.port.unwrap_or(5432).to_string()])
            .args(["-U", role, "-d", database, "-c", statements]);
        psql.output().expect("psql runs")
    }
}

impl Drop for PostgresServer {
    fn drop(&mut self) {
        self.kill();
    }
}
