//! Which shop a data folder belongs to: an address without a password, in a file of the folder.

use std::io::Write;
use std::path::{Path, PathBuf};

use benchhand_shop::{AddressFault, ShopAddress};
use serde::{Deserialize, Serialize};

/// The file in the data folder.
const FILE: &str = "shop.json";

/// Which shop, and what this station calls itself there.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct ShopSetting {
    /// The URL of the shop's record; it holds no password.
    pub url: String,
    /// A file of certificates that are believed in place of the platform's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub certificate: Option<PathBuf>,
    /// What people call this station.
    pub name: String,
}

impl ShopSetting {
    /// The setting of a data folder; `None` where it belongs to no shop.
    ///
    /// # Errors
    /// Where it cannot be read.
    pub fn read(root: &Path) -> std::io::Result<Option<Self>> {
        match std::fs::read(root.join(FILE)) {
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(None),
            bytes => Ok(Some(serde_json::from_slice(&bytes?)?)),
        }
    }

    /// Keeps the setting, on the disk when this returns.
    ///
    /// # Errors
    /// Where the disk refuses; then the earlier one stands.
    pub fn write(&self, root: &Path) -> std::io::Result<()> {
        let fresh = root.join("shop.json.new");
        // Left by a write that never ended.
        let _ = std::fs::remove_file(&fresh);
        let mut options = std::fs::OpenOptions::new();
        options.write(true).create_new(true);
        #[cfg(unix)]
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
        let mut file = options.open(&fresh)?;
        file.write_all(&serde_json::to_vec(self)?)?;
        file.sync_all()?;
        std::fs::rename(fresh, root.join(FILE))
    }

    /// Forgets the shop.
    ///
    /// # Errors
    /// Where the disk refuses.
    pub fn remove(root: &Path) -> std::io::Result<()> {
        match std::fs::remove_file(root.join(FILE)) {
            Err(error) if error.kind() != std::io::ErrorKind::NotFound => Err(error),
            _ => Ok(()),
        }
    }

    /// The address.
    ///
    /// # Errors
    /// Where it was changed into none.
    pub fn address(&self) -> Result<ShopAddress, AddressFault> {
        ShopAddress::parse(&self.url, self.certificate.as_deref())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_setting_is_kept_read_and_forgotten() {
        let folder = tempfile::tempdir().unwrap();
        let root = folder.path();
        assert_eq!(ShopSetting::read(root).unwrap(), None);
        let setting = ShopSetting {
            url: "postgresql://deck@server/shop".to_owned(),
            certificate: None,
            name: "deck stand".to_owned(),
        };
        setting.write(root).unwrap();
        assert_eq!(ShopSetting::read(root).unwrap(), Some(setting));
        ShopSetting::remove(root).unwrap();
        ShopSetting::remove(root).unwrap();
        assert_eq!(ShopSetting::read(root).unwrap(), None);
        std::fs::write(root.join(FILE), "no setting").unwrap();
        assert!(ShopSetting::read(root).is_err());
    }
}
