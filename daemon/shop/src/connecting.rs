//! A connection to the shop's database: TLS, password, time limits, and what is heard beside answers.

use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use rustls::pki_types::CertificateDer;
use rustls::pki_types::pem::PemObject;
use rustls::{ClientConfig, RootCertStore};
use tokio::sync::mpsc;
use tokio_postgres::{AsyncMessage, Client};
use tokio_postgres_rustls::MakeRustlsConnect;

use crate::address::ShopAddress;
use crate::fault::ShopFault;
use crate::pace::ShopPace;
use crate::password::PasswordSource;

/// The channel on which batches are announced.
pub(crate) const CHANNEL: &str = "benchhand_lines";

/// A connection, and what comes over it unasked.
pub(crate) struct ShopConnection {
    /// What statements are sent with.
    pub client: Client,
    /// Announcements of other stations, as they came.
    pub heard: mpsc::UnboundedReceiver<String>,
}

impl ShopConnection {
    /// Connects and asks to hear of batches.
    ///
    /// # Errors
    /// Where the server is away, does not let the role in, or is not believed.
    pub(crate) async fn open(
        at: &ShopAddress,
        passwords: &PasswordSource,
        pace: &ShopPace,
    ) -> Result<Self, ShopFault> {
        let seconds = pace.connecting.as_secs();
        let what = "connect";
        tokio::time::timeout(pace.connecting, connect(at, passwords, pace))
            .await
            .unwrap_or(Err(ShopFault::TookTooLong { what, seconds }))
    }
}

async fn connect(
    at: &ShopAddress,
    passwords: &PasswordSource,
    pace: &ShopPace,
) -> Result<ShopConnection, ShopFault> {
    let mut config = at.config();
    config
        .application_name("benchhand")
        .connect_timeout(pace.connecting)
        .keepalives_idle(Duration::from_secs(20))
        .keepalives_interval(Duration::from_secs(5))
        .keepalives_retries(3)
        .tcp_user_timeout(pace.statement);
    let host = at.host();
    // A socket's line in the file of passwords names its folder or this machine.
    let hosts: &[&str] = match at.is_socket() {
        true => &[&host, "localhost"],
        false => &[&host],
    };
    if let Some(password) = passwords.find(hosts, at.port(), at.database(), at.role()) {
        config.password(password);
    }
    let tls = match at.is_socket() {
        true => trusting(RootCertStore::empty())?,
        false => trusting(roots(at.certificate())?)?,
    };
    let connected = config.connect(MakeRustlsConnect::new(tls)).await;
    let (client, mut connection) = connected.map_err(|error| ShopFault::of(&error, at))?;
    let (told, heard) = mpsc::unbounded_channel();
    tokio::spawn(async move {
        // The end of the connection shows at the next statement, and by the closed channel.
        loop {
            match std::future::poll_fn(|context| connection.poll_message(context)).await {
                Some(Ok(AsyncMessage::Notification(note))) => {
                    if told.send(note.payload().to_owned()).is_err() {
                        return;
                    }
                }
                Some(Ok(_)) => {}
                Some(Err(_)) | None => return,
            }
        }
    });
    let limit = pace.statement.as_millis();
    // What follows is found by its whole name alone.
    let session = format!(
        "set statement_timeout = {limit}; set lock_timeout = {limit}; set search_path = pg_catalog; \
         listen {CHANNEL}"
    );
    let begun = client.batch_execute(&session).await;
    begun.map_err(|error| ShopFault::of(&error, at))?;
    Ok(ShopConnection { client, heard })
}

fn trusting(roots: RootCertStore) -> Result<ClientConfig, ShopFault> {
    let ring = Arc::new(rustls::crypto::ring::default_provider());
    let versions = ClientConfig::builder_with_provider(ring).with_safe_default_protocol_versions();
    let builder = versions.map_err(|error| ShopFault::Ended(error.to_string()))?;
    Ok(builder.with_root_certificates(roots).with_no_client_auth())
}

/// The certificates that are believed: the stated file's, else the platform's.
fn roots(stated: Option<&Path>) -> Result<RootCertStore, ShopFault> {
    let mut roots = RootCertStore::empty();
    let Some(path) = stated else {
        roots.add_parsable_certificates(rustls_native_certs::load_native_certs().certs);
        return Ok(roots);
    };
    let unusable = |cause: String| ShopFault::Certificate {
        file: path.display().to_string(),
        cause,
    };
    let found = CertificateDer::pem_file_iter(path).map_err(|error| unusable(error.to_string()))?;
    for certificate in found {
        let certificate = certificate.map_err(|error| unusable(error.to_string()))?;
        let added = roots.add(certificate);
        added.map_err(|error| unusable(error.to_string()))?;
    }
    if roots.is_empty() {
        return Err(unusable("it holds no certificate".to_owned()));
    }
    Ok(roots)
}
