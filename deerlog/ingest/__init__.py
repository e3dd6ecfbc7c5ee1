"""Cards to the field log: photos read once, times set right, tags kept, effort counted."""
