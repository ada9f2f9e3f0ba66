//! A keeper in which nothing happens by itself, for a daemon that is stepped.

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc::channel;

use benchhand_files::Files;
use benchhand_wire::Refusal;

use super::Keeper;
use crate::clock::Clock;
use crate::store::Access;
use crate::store::lists::Lists;

impl Keeper {
    /// As [`Keeper::holding`], for a daemon in which nothing happens by itself: the index is in
    /// memory and in step at once, and nobody watches the journals.
    pub(crate) fn stepped(
        data: PathBuf,
        files: Arc<dyn Files>,
        clock: Arc<dyn Clock>,
    ) -> Result<Keeper, Refusal> {
        let mut keeper = Keeper::passing(data, files, clock);
        let store = keeper.open(Access::write("serve"))?;
        let lists = Lists::inline(store.reader().clone());
        keeper.hold(store, lists, Arc::default(), (None, channel().1));
        Ok(keeper)
    }
}
