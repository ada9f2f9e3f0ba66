//! Enums whose values are stored and shown by one name each.

/// An enum, its names in JSON and in text, and the list of all its values.
macro_rules! named_enum {
    ($(#[$about:meta])* $type:ident { $($(#[$doc:meta])* $variant:ident = $name:literal,)+ }) => {
        $(#[$about])*
        #[derive(
            Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord,
            serde::Serialize, serde::Deserialize,
        )]
        #[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
        pub enum $type {
            $($(#[$doc])* #[serde(rename = $name)] $variant,)+
        }

        impl $type {
            /// All of them.
            pub const ALL: &'static [$type] = &[$($type::$variant,)+];

            /// The name that is stored and shown.
            pub const fn name(self) -> &'static str {
                match self {
                    $($type::$variant => $name,)+
                }
            }
        }

        impl std::fmt::Display for $type {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.name())
            }
        }
    };
}

pub(crate) use named_enum;
