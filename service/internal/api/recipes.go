package api

import (
	"context"

	"google.golang.org/protobuf/reflect/protoreflect"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/records"
	"arris.example/service/internal/store"
)

var recipes = &resource[*arrisv1.Recipe, store.RecipeHead]{
	kind: records.Recipes, field: "recipe", in: recipeIn, out: recipeOut,
	edit: newestOut,
	lists: withTimes(columns{
		"holder": {Column: store.ByHolder},
		"state":  listed(store.ByState, arrisv1.RecipeState(0).Descriptor(), map[protoreflect.EnumNumber]string{1: store.StateDraft, 2: store.StatePublished}),
	}),
}

// CreateRecipe keeps a new recipe.
func (s *Recipes) CreateRecipe(ctx context.Context, req *arrisv1.CreateRecipeRequest) (*arrisv1.Recipe, error) {
	return recipes.create(ctx, s.keep, req, req.GetParent(), req.GetRecipeId(), req.GetRecipe())
}

// BatchCreateRecipes keeps many new recipes, all or none.
func (s *Recipes) BatchCreateRecipes(ctx context.Context, req *arrisv1.BatchCreateRecipesRequest) (*arrisv1.BatchCreateRecipesResponse, error) {
	if err := underOne(ctx, req.GetParent(), req.GetRequests()); err != nil {
		return nil, err
	}
	list, err := recipes.createAll(ctx, s.keep, req, each(req.GetRequests(), func(c *arrisv1.CreateRecipeRequest) records.Draft[store.RecipeHead] {
		return recipes.draft(req.GetParent(), c.GetRecipeId(), c.GetRecipe())
	}))
	return &arrisv1.BatchCreateRecipesResponse{Recipes: list}, err
}

// GetRecipe reads a recipe.
func (s *Recipes) GetRecipe(ctx context.Context, req *arrisv1.GetRecipeRequest) (*arrisv1.Recipe, error) {
	return recipes.get(ctx, s.keep, req)
}

// ListRecipes reads recipes, page by page.
func (s *Recipes) ListRecipes(ctx context.Context, req *arrisv1.ListRecipesRequest) (*arrisv1.ListRecipesResponse, error) {
	page, next, err := recipes.list(ctx, s.keep, req)
	return &arrisv1.ListRecipesResponse{Recipes: page, NextPageToken: next}, err
}

// UpdateRecipe changes a recipe.
func (s *Recipes) UpdateRecipe(ctx context.Context, req *arrisv1.UpdateRecipeRequest) (*arrisv1.Recipe, error) {
	return recipes.update(ctx, s.keep, req, req.GetAllowMissing(), req.GetRecipe())
}

// DeleteRecipe deletes a recipe.
func (s *Recipes) DeleteRecipe(ctx context.Context, req *arrisv1.DeleteRecipeRequest) (*arrisv1.Recipe, error) {
	return recipes.remove(ctx, s.keep, req)
}

// UndeleteRecipe brings a recipe back.
func (s *Recipes) UndeleteRecipe(ctx context.Context, req *arrisv1.UndeleteRecipeRequest) (*arrisv1.Recipe, error) {
	return recipes.bringBack(ctx, s.keep, req)
}
