package memory

import (
	"context"
	"net/http"

	"wideberth/api/store"
	"wideberth/api/wire"
	"wideberth/api/wire/kept"
	"wideberth/osmdata/fault"
)

// DocumentPath names one document.
type DocumentPath struct {
	Kind kept.DocumentKind `path:"kind" enum:"visits,outings"`
	ID   string            `path:"id" maxLength:"80"`
}

// documentRoutes keep what is kept as a whole: training sequences, timetables.
func (d *Desk) documentRoutes() {
	m := d.Store
	Keep(d, http.MethodGet, "/v1/documents/{kind}", "documents", "Kept sequences or timetables, latest first, without their bodies", func(ctx context.Context, w store.Who, in *struct {
		Kind kept.DocumentKind `path:"kind" enum:"visits,outings"`
	}) ([]kept.DocumentHead, error) {
		list, err := m.Documents(ctx, w, in.Kind)
		return OrEmpty(list), err
	})
	Keep(d, http.MethodGet, "/v1/documents/{kind}/{id}", "document", "One of them", func(ctx context.Context, w store.Who, in *DocumentPath) (kept.Document, error) {
		return m.Document(ctx, w, in.Kind, in.ID)
	})
	KeepUpTo(d, store.MostOutingBytes+BesideBytes, http.MethodPut, "/v1/documents/{kind}/{id}", "put-document", "Keep one; version 0 makes a new one", func(ctx context.Context, w store.Who, in *struct {
		DocumentPath
		Body wire.DocumentBody
	}) (kept.Document, error) {
		return d.putDocument(ctx, w, kept.Document{Kind: in.Kind, ID: in.ID, Dog: in.Body.Dog, Version: in.Body.Version, Body: in.Body.Body})
	})
	Drop(d, http.MethodDelete, "/v1/documents/{kind}/{id}", "delete-document", "Delete one", func(ctx context.Context, w store.Who, in *DocumentPath) error {
		return m.DeleteDocument(ctx, w, in.Kind, in.ID)
	})
}

// putDocument keeps a document; one of the kind visits must be a sequence.
func (d *Desk) putDocument(ctx context.Context, w store.Who, doc kept.Document) (kept.Document, error) {
	if doc.Kind == kept.Sequences {
		if doc.Dog == "" {
			return doc, fault.Problems{{Pointer: "/dog", Mend: "missing: a sequence lives with a dog, give its id"}}
		}
		if _, err := wire.ReadSequence(doc.Body); err != nil {
			return doc, err
		}
	}
	return d.Store.PutDocument(ctx, w, doc)
}
